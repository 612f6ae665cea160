"""One way to write a record down: the same values give the same bytes everywhere."""

import json
from collections.abc import Mapping
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from hashlib import sha256
from typing import Any
from uuid import UUID

from django.db import models

from kegsafe.ledger.models import Recorded


def canonical_json(value: Mapping[str, Any]) -> str:
    """Return JSON with sorted keys and no spaces; refuses floats and unknown types.

    Numbers are integers or strings: a float prints differently on another
    machine or after a round trip through a database, and the hash would change.
    """
    return json.dumps(
        _plain(value), sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    )


def snapshot(instance: Recorded) -> str:
    """Return the canonical JSON of the fields that the record says the ledger proves.

    Decimals are written with the field's own number of places, because
    SQLite gives 1 back for a stored 1.000.
    """
    values = instance.ledger_values()
    return canonical_json(
        {
            field.attname: _field_value(field, values[field.attname])
            for field in instance._meta.concrete_fields
            if field.attname in values
        }
    )


def entry_hash(
    *,
    chain: str,
    sequence: int,
    recorded_at_us: int,
    person: str,
    action: str,
    subject: str,
    record: str,
    detail: str,
    previous_hash: str,
) -> str:
    """Return the SHA-256 (hex) of an entry: its fields in this order, one a line.

    No field can hold a line break (JSON escapes it, the rest are checked when
    recorded), so two different entries never give the same text.
    """
    text = (
        f"{chain}\n{sequence}\n{recorded_at_us}\n{person}\n{action}\n{subject}\n"
        f"{previous_hash}\n{record}\n{detail}"
    )
    return sha256(text.encode()).hexdigest()


def _field_value(field: models.Field, value: Any) -> Any:
    if value is None:
        return None
    if isinstance(field, models.DecimalField):
        places = Decimal(1).scaleb(-field.decimal_places)
        return str(Decimal(value).quantize(places))
    if isinstance(field, models.FileField):
        return value.name
    return value


def _plain(value: Any) -> Any:
    match value:
        case None | bool() | int() | str():
            return value
        case Decimal():
            return str(value)
        case datetime():
            return value.astimezone(UTC).isoformat(timespec="microseconds")
        case date() | time():
            return value.isoformat()
        case timedelta():
            return value // timedelta(microseconds=1)
        case UUID():
            return str(value)
        case Mapping():
            return {str(key): _plain(item) for key, item in value.items()}
        case list() | tuple():
            return [_plain(item) for item in value]
        case set() | frozenset():
            return sorted(_plain(item) for item in value)
    raise TypeError(
        f"The ledger records integers, strings, decimals, dates and lists of them, "
        f"not {type(value).__name__}: write a measured number as a Decimal."
    )
