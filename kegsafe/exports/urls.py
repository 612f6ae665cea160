"""Addresses of exports."""

from django.urls import path

from kegsafe.exports import views

urlpatterns = [
    path("", views.exports, name="exports"),
    path("log/", views.log, name="export-log"),
    path("move/", views.move_house, name="move-house"),
    path("move/file/", views.venue_file, name="move-house-file"),
]
