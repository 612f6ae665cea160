"""Numbers as the columns hold them, so that what is reckoned with is what is stored."""

from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Context, Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models

_WIDE = Context(prec=60, rounding=ROUND_HALF_UP)


def in_places_of(model: type[models.Model], values: Mapping[str, Any]) -> dict[str, Any]:
    """Return the values, each decimal rounded half up to the places of its column."""
    return {name: _rounded(model, name, value) for name, value in values.items()}


def _rounded(model: type[models.Model], name: str, value: Any) -> Any:
    field = model._meta.get_field(name)
    if not isinstance(value, Decimal) or not isinstance(field, models.DecimalField):
        return value
    if not value.is_finite():
        raise ValidationError({name: f'"{value}" is no number. Write a plain one, such as 700.'})
    return value.quantize(Decimal(1).scaleb(-field.decimal_places), context=_WIDE)
