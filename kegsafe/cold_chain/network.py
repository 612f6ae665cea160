"""What a logger may send: JSON to readings, and a sentence for each that cannot be kept."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import ROUND_CEILING, Decimal
from typing import Any

from kegsafe.cold_chain.log_file.temperatures import COLDEST_CENTI_DEGC, WARMEST_CENTI_DEGC

MOST_READINGS = 1000
LARGEST_BODY_BYTES = 256 * 1024
CLOCK_MAY_LEAD = timedelta(minutes=5)  # common practice, no source
_EARLIEST_S = 946_684_800  # 2000-01-01: the clock of a logger was not set before
_LONGEST_TIME = 40


class Unreadable(ValueError):
    """The message as a whole cannot be read; the text says why."""


class Refused(ValueError):
    """One reading cannot be kept; the text says why."""


@dataclass(frozen=True, slots=True)
class Sent:
    """The readings of a message: those that can be kept by their second, and the others by place.

    `seconds` holds for each reading its second, or None where it was refused.
    """

    readings: Mapping[int, int]
    seconds: tuple[int | None, ...]
    refused: Mapping[int, str]


def sent(body: bytes, now: datetime) -> Sent:
    """Return the readings of a message; Unreadable where it is no message at all."""
    readings: dict[int, int] = {}
    seconds: list[int | None] = []
    refused: dict[int, str] = {}
    for index, item in enumerate(_items(body)):
        try:
            at_s, centi_degc = _reading(item, now)
        except Refused as trouble:
            refused[index] = str(trouble)
            seconds.append(None)
            continue
        readings[at_s] = max(centi_degc, readings.get(at_s, centi_degc))
        seconds.append(at_s)
    return Sent(readings, tuple(seconds), refused)


def _items(body: bytes) -> list[Any]:
    try:
        message = json.loads(body, parse_float=Decimal, parse_constant=_no_constant)
    except (ValueError, RecursionError) as trouble:
        raise Unreadable(f"This is no JSON: {str(trouble)[:120]}.") from None
    if isinstance(message, dict) and "readings" not in message:
        return [message]
    items = message.get("readings") if isinstance(message, dict) else None
    if not isinstance(items, list):
        raise Unreadable(
            'Send {"at": "2026-04-07T13:45:00Z", "degc": 4.2}, or a list of those as "readings".'
        )
    if not 1 <= len(items) <= MOST_READINGS:
        raise Unreadable(f"Send 1 to {MOST_READINGS} readings at a time, not {len(items)}.")
    return items


def _no_constant(name: str) -> None:
    raise ValueError(f"{name} is no number")


def _reading(item: Any, now: datetime) -> tuple[int, int]:
    if not isinstance(item, dict):
        raise Refused('A reading is an object such as {"at": …, "degc": 4.2}.')
    unknown = sorted(set(item) - {"at", "degc", "degf"})
    if unknown:
        raise Refused(f'"{unknown[0][:40]}" is no field of a reading: at, and degc or degf.')
    return _second(item.get("at"), now), _centi_degc(item)


def _second(at: Any, now: datetime) -> int:
    if isinstance(at, int) and not isinstance(at, bool):
        at_s = at
    elif isinstance(at, str) and len(at) <= _LONGEST_TIME:
        at_s = _second_of_text(at)
    else:
        raise Refused('"at" is missing: a time such as 2026-04-07T13:45:00Z, or epoch seconds.')
    if at_s < _EARLIEST_S:
        raise Refused("This is before 2000: set the clock of the logger.")
    ahead_s = at_s - int(now.timestamp())
    if ahead_s > CLOCK_MAY_LEAD.total_seconds():
        raise Refused(
            f"This is {ahead_s} s ahead of {now.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}: set the clock "
            "of the logger."
        )
    return at_s


def _second_of_text(text: str) -> int:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise Refused(f'"{text}" is no time. Write 2026-04-07T13:45:00Z.') from None
    if moment.tzinfo is None:
        raise Refused(f'"{text}" has no offset: write 2026-04-07T13:45:00Z or +01:00.')
    try:
        return int(moment.timestamp())
    except (OverflowError, ValueError):
        raise Refused(f'"{text}" is no time a logger can have.') from None


def _centi_degc(item: Mapping[str, Any]) -> int:
    given = [name for name in ("degc", "degf") if name in item]
    if len(given) != 1:
        raise Refused('Give the temperature once: "degc" or "degf".')
    value = item[given[0]]
    if isinstance(value, bool) or not isinstance(value, int | Decimal):
        raise Refused(f'"{given[0]}" is no number.')
    if abs(value) > 10_000:
        raise Refused(f'"{given[0]}" is no temperature of a bar.')
    degc = Decimal(value) if given[0] == "degc" else (Decimal(value) - 32) * 5 / 9
    centi = int((degc * 100).to_integral_value(ROUND_CEILING))
    if not COLDEST_CENTI_DEGC <= centi <= WARMEST_CENTI_DEGC:
        raise Refused("Readings from -60 to 60 °C are kept: this is an error code or a wrong unit.")
    return centi
