"""The way around: which rooms a person sees, and which one they are in."""

from dataclasses import dataclass
from functools import cache
from typing import Any

from django.conf import settings
from django.http import HttpRequest
from django.urls import get_script_prefix, reverse


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of the navigation. `room` is how the addresses of the room begin."""

    label: str
    url_name: str
    icon: str
    rooms: tuple[str, ...]


# The first four are in reach of a thumb: what is done on the floor comes before what is done at
# a desk.
ENTRIES = (
    Entry("Today", "home", "today", ("",)),
    Entry("Pour check", "pour-search", "pour", ("pour/",)),
    Entry("Cold", "cold-round", "cold", ("cold/",)),
    Entry("Cleaning", "cleaning", "cleaning", ("cleaning/",)),
    Entry("Batches", "batches", "batch", ("batches/",)),
    Entry("Stock", "ingredients", "stock", ("stock/",)),
    Entry("Equipment", "kegs", "equipment", ("equipment/",)),
    Entry("Pressure", "pressure", "pressure", ("pressure/",)),
    Entry("Calculators", "calculators", "calculator", ("calculators/",)),
    Entry("Self-check", "readiness", "report", ("readiness/",)),
    Entry("Inspection", "packs", "print", ("inspection/",)),
    Entry("Ledger", "ledger", "ledger", ("ledger/",)),
    Entry("Venue", "venue-settings", "settings", ("venue/", "exports/")),
)
SWITCH = Entry("Change venue", "venue-switch", "forward", ())


def venue_context(request: HttpRequest) -> dict[str, Any]:
    """Give every venue page its venue, its person and its navigation, without a query."""
    membership = getattr(request, "membership", None)
    if membership is None:
        return {}
    entries = (*ENTRIES, SWITCH) if membership.has_others else ENTRIES
    room = _room(request)
    return {
        "venue": membership.venue,
        "membership": membership,
        "ledger_url": _address("ledger", settings.ROOT_URLCONF, get_script_prefix()),
        "navigation": [
            {
                "label": entry.label,
                "url": _address(entry.url_name, settings.ROOT_URLCONF, get_script_prefix()),
                "active": room in entry.rooms,
                "icon": entry.icon,
            }
            for entry in entries
        ],
    }


@cache
def _address(url_name: str, urlconf: str, prefix: str) -> str:
    """Look an address up once: the way around is on every page and is the same on all of them."""
    return reverse(url_name, urlconf)


def _room(request: HttpRequest) -> str:
    match = getattr(request, "resolver_match", None)
    first, slash, _ = (match.route if match else "").partition("/")
    return first + slash
