"""How a venue stands: the head of its ledger, every verdict, and every row, in words to compare."""

from datetime import datetime
from typing import Any

from django.utils import timezone

from kegsafe.exports.moving.belongings import belongings
from kegsafe.exports.moving.written_values import written
from kegsafe.pour.queries import keg_view
from kegsafe.rules.pour_check import pour_check
from kegsafe.venues.models import Venue


def standing_of_all(now: datetime) -> dict[str, dict[str, Any]]:
    """Return the standing of every venue by its name."""
    return {venue.name: standing(venue, now) for venue in Venue.objects.all()}


def standing(venue: Venue, now: datetime) -> dict[str, Any]:
    """Return head, verdicts as the command prints them, and all rows of all models."""
    with timezone.override(venue.zone):
        return {
            "entries": venue.chain.head_sequence,
            "head": venue.chain.head_hash,
            "verdicts": {
                keg.name: pour_check(keg_view(venue, keg.label_code, now).facts, now).as_json()
                for keg in venue.kegs.all()
            },
            "rows": {belonging.label: _rows(belonging, venue) for belonging in belongings()},
        }


def _rows(belonging: Any, venue: Venue) -> list[list[Any]]:
    found = belonging.rows(venue).values_list(*belonging.columns)
    return [[written(value) for value in row] for row in found]
