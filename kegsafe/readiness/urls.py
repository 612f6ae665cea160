"""Addresses of readiness."""

from django.urls import path

from kegsafe.readiness import views

urlpatterns = [
    path("", views.readiness, name="readiness"),
    path("self-check/", views.self_check, name="self-check"),
    path("ledger/", views.chain_walk, name="chain-walk"),
]
