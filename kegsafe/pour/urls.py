"""Addresses of the pour check."""

from django.urls import path

from kegsafe.pour import views

urlpatterns = [
    path("", views.search, name="pour-search"),
    path("<slug:label_code>/", views.check, name="pour-check"),
    path("<slug:label_code>/checked/", views.checked, name="pour-checked"),
]
