"""Addresses of the pour check."""

from django.urls import path

from kegsafe.pour import views

urlpatterns = [
    path("", views.search, name="pour-search"),
    path("warm/<int:pk>/<int:from_s>/", views.warm_drinks, name="warm-drinks"),
    path("<slug:label_code>/", views.check, name="pour-check"),
    path("<slug:label_code>/checked/", views.checked, name="pour-checked"),
]
