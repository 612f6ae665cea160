"""Addresses of the labels."""

from django.urls import path

from kegsafe.reports import views

urlpatterns = [
    path("", views.labels, name="labels"),
    path("fill/<int:pk>/", views.fill_label, name="fill-label"),
    path("lot/<int:pk>/", views.lot_label, name="lot-label"),
]
