"""Every address of the site, by room."""

from importlib.util import find_spec

from django.urls import include, path

# Each room keeps its own addresses.
ROOMS = {
    "": "kegsafe.readiness.today_urls",
    "pour/": "kegsafe.pour.urls",
    "stock/": "kegsafe.stock.urls",
    "batches/": "kegsafe.batches.urls",
    "equipment/": "kegsafe.equipment.urls",
    "calculators/": "kegsafe.calculators.urls",
    "cleaning/": "kegsafe.cleaning.urls",
    "cold/": "kegsafe.cold_chain.urls",
    "pressure/": "kegsafe.pressure.urls",
    "audit/": "kegsafe.reports.audit_urls",
    "labels/": "kegsafe.reports.urls",
    "trace/": "kegsafe.tracing.urls",
    "recalls/": "kegsafe.recalls.urls",
    "readiness/": "kegsafe.readiness.urls",
    "inspection/": "kegsafe.inspection.urls",
    "exports/": "kegsafe.exports.urls",
    "ledger/": "kegsafe.venues.ledger_urls",
    "venue/": "kegsafe.venues.urls",
}

urlpatterns = [path(prefix, include(urls)) for prefix, urls in ROOMS.items() if find_spec(urls)]

handler500 = "kegsafe.frame.faults.broken"
