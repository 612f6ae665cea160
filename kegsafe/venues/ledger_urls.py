"""The address of the ledger."""

from django.urls import path

from kegsafe.venues import ledger_views

urlpatterns = [path("", ledger_views.ledger, name="ledger")]
