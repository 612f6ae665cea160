"""Address of the owner's audit on paper."""

from django.urls import path

from kegsafe.reports.audit_views import owner_audit

urlpatterns = [path("owner/", owner_audit, name="owner-audit-pdf")]
