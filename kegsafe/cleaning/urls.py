"""Addresses of the cleaning log."""

from django.urls import path

from kegsafe.cleaning import views

urlpatterns = [
    path("", views.log, name="cleaning"),
    path("record/", views.record, name="clean-record"),
    path("<int:pk>/", views.clean, name="clean"),
    path("<int:pk>/amend/", views.amend, name="clean-amend"),
]
