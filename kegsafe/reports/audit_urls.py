"""Addresses of what is printed about pressure equipment: the owner's audit, labels, dates."""

from django.urls import path

from kegsafe.reports.audit_views import calendar, item_label, owner_audit

urlpatterns = [
    path("due.ics", calendar, name="due-calendar"),
    path("owner/", owner_audit, name="owner-audit-pdf"),
    path("items/<int:pk>/label/", item_label, name="pressure-item-label"),
]
