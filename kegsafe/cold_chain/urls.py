"""Addresses of the temperature round and the readings."""

from django.urls import path

from kegsafe.cold_chain import views

urlpatterns = [
    path("", views.cold_round, name="cold-round"),
    path("readings/", views.readings, name="cold-readings"),
    path("readings/<int:pk>/", views.reading, name="cold-reading"),
    path("readings/<int:pk>/amend/", views.reading_amend, name="cold-reading-amend"),
]
