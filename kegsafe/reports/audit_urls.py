"""Addresses of what is made of the record of pressure equipment: audit, labels, dates, gas."""

from django.urls import path

from kegsafe.reports.audit_views import calendar, cylinder_balance, item_label, owner_audit

urlpatterns = [
    path("due.ics", calendar, name="due-calendar"),
    path("owner/", owner_audit, name="owner-audit-pdf"),
    path("items/<int:pk>/balance/", cylinder_balance, name="pressure-item-balance"),
    path("items/<int:pk>/label/", item_label, name="pressure-item-label"),
]
