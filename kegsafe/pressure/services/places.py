"""Numbers in the decimal places of their field, and records of the right venue."""

from collections.abc import Mapping
from datetime import datetime
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models
from django.utils import timezone


def in_places(model: type[models.Model], values: Mapping[str, Any]) -> dict[str, Any]:
    """Return the values with each decimal rounded to the places its field keeps."""
    return {name: _in_place(model, name, value) for name, value in values.items()}


def require_venue(venue_id: int, *others: models.Model | None) -> None:
    """Raise ValueError when a record belongs to another venue."""
    for other in others:
        if other is not None and other.venue_id != venue_id:
            raise ValueError(f"{other} belongs to another venue")


def require_past(moment: datetime, field: str) -> None:
    """Raise ValidationError at a field for a time that is still to come."""
    if moment > timezone.now():
        raise ValidationError({field: "This time is still to come. Give a time that has passed."})


def _in_place(model: type[models.Model], name: str, value: Any) -> Any:
    field = model._meta.get_field(name)
    if isinstance(value, str):
        return value.strip()
    if not isinstance(value, Decimal) or not isinstance(field, models.DecimalField):
        return value
    return value.quantize(Decimal(1).scaleb(-field.decimal_places), rounding=ROUND_HALF_UP)
