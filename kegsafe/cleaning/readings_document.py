"""A reading as it is kept in a record: two ends as text, and how it was read."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from kegsafe.rules.cleaning.readings import Means, Reading


def reading_document(reading: Reading | None) -> dict[str, Any] | None:
    """Return a reading as JSON; a missing upper end stays missing."""
    if reading is None:
        return None
    highest = None if reading.highest is None else str(reading.highest)
    return {"lowest": str(reading.lowest), "highest": highest, "means": reading.means.value}


def reading_from(document: Mapping[str, Any] | None) -> Reading | None:
    """Return the reading of a document."""
    if document is None:
        return None
    highest = document["highest"]
    return Reading(
        Decimal(document["lowest"]),
        None if highest is None else Decimal(highest),
        Means(document["means"]),
    )
