"""A value of a record as JSON, and back: nothing is lost, and nothing else is let in."""

import base64
import binascii
from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal, InvalidOperation
from functools import cache
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Field

_MICROSECOND = timedelta(microseconds=1)


class NotAValue(Exception):
    """What stands in the file is no value of the field; the message says what would be."""


def written(value: Any) -> Any:
    """Return a stored value as JSON holds it.

    Decimals and moments are texts, so that no digit is lost; bytes are Base64, durations whole
    microseconds. Raises TypeError for what no field of the house holds.
    """
    match value:
        case None | bool() | int() | float() | str() | list() | dict():
            return value
        case Decimal() | UUID():
            return str(value)
        case datetime():
            return value.astimezone(UTC).isoformat(timespec="microseconds")
        case date() | time():
            return value.isoformat()
        case timedelta():
            return value // _MICROSECOND
        case bytes() | bytearray() | memoryview():
            return base64.b64encode(value).decode("ascii")
    raise TypeError(f"No way is known to write down a {type(value).__name__}.")


def read_back(field: Field, value: Any) -> Any:
    """Return what a field stores for a value of the file.

    Raises NotAValue for another type, an empty value where none may be, a word that is no
    choice, and all that the field's own validators refuse.
    """
    if value is None:
        if not field.null:
            raise NotAValue("it is empty and must not be")
        return None
    target = field.target_field if field.is_relation else field
    read = _read(target, value)
    if field.choices and read not in _choices(field):
        raise NotAValue(f"{value!r:.60} is none of its choices")
    try:
        field.run_validators(read)
        target.run_validators(read)
    except ValidationError as refused:
        raise NotAValue(" ".join(refused.messages)) from None
    return read


@cache
def _choices(field: Field) -> frozenset[Any]:
    named = {choice for choice, _ in field.flatchoices}
    return frozenset(named | {""} if field.blank else named)


def _read(field: Field, value: Any) -> Any:
    if isinstance(field, models.JSONField):
        return value
    types, name, read = _way_to_read(field)
    # A bool is an int to Python; to a database it is another value.
    if not isinstance(value, types) or (isinstance(value, bool) and types is not bool):
        raise NotAValue(f"{value!r:.60} is no {name}")
    try:
        return read(value)
    except (ValueError, OverflowError, InvalidOperation, binascii.Error):
        raise NotAValue(f"{value!r:.60} is no {name}") from None


@cache
def _way_to_read(field: Field) -> tuple[Any, str, Callable[[Any], Any]]:
    for kinds, types, name, read in _READ:
        if isinstance(field, kinds):
            return types, name, read
    raise TypeError(f"No way is known to read a {type(field).__name__} back.")


def _text(value: str) -> str:
    value.encode()  # half a character, as JSON can spell it, is a UnicodeEncodeError here
    if "\0" in value:
        raise ValueError("no database keeps a zero character")
    return value


def _decimal(value: str) -> Decimal:
    read = Decimal(value)
    if not read.is_finite():
        raise ValueError("not a number")
    return read


def _moment(value: str) -> datetime:
    read = datetime.fromisoformat(value)
    if read.tzinfo is None:
        raise ValueError("no offset")
    return read


def _bytes(value: str) -> bytes:
    return base64.b64decode(value, validate=True)


# In this order: a moment is a date to Django, and a key that counts up is a whole number.
_READ: tuple[tuple[Any, Any, str, Callable[[Any], Any]], ...] = (
    (models.BooleanField, bool, "true or false", lambda value: value),
    (models.DecimalField, str, "decimal number in quotes", _decimal),
    (models.DateTimeField, str, "moment with its offset", _moment),
    (models.DateField, str, "date", date.fromisoformat),
    (models.TimeField, str, "time", time.fromisoformat),
    (models.DurationField, int, "whole microseconds", lambda value: value * _MICROSECOND),
    (models.UUIDField, str, "UUID", UUID),
    (models.BinaryField, str, "Base64", _bytes),
    (models.FloatField, (int, float), "number", float),
    (models.IntegerField, int, "whole number", lambda value: value),
    ((models.CharField, models.TextField), str, "text", _text),
)
