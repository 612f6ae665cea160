"""The demo as it is written down: people, venues with what they have, and what happened there."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

Table = Mapping[str, Any]


class BadScenario(Exception):
    """The file says something that cannot be laid; the message names the place."""


@dataclass(frozen=True, slots=True)
class DemoPerson:
    """Somebody who signs in to the demo, with a password that everybody may know."""

    username: str
    full_name: str
    password: str
    shows: str


@dataclass(frozen=True, slots=True)
class VenueScript:
    """One bar: its settings and people, what it has, and what happened there, in order.

    `round` are the temperatures that the demo reads by itself when it is
    started on a later day; `acts` are the timeline.
    """

    name: str
    address: str
    code_key: str
    time_zone: str
    units: str
    owner: str
    roles: Mapping[str, str]
    round: Mapping[str, str]
    suppliers: tuple[Table, ...]
    places: tuple[Table, ...]
    kegs: tuple[Table, ...]
    lines: tuple[Table, ...]
    ingredients: tuple[Table, ...]
    recipes: tuple[Table, ...]
    acts: tuple[Table, ...]


@dataclass(frozen=True, slots=True)
class Scenario:
    """The whole demo. `recorded_by` is who reads temperatures when the demo starts again."""

    recorded_by: str
    people: tuple[DemoPerson, ...]
    venues: tuple[VenueScript, ...]


def read_scenario(path: Path) -> Scenario:
    """Read a scenario from TOML. Raises BadScenario naming the part that is wrong."""
    try:
        written = tomllib.loads(path.read_text(encoding="utf-8"), parse_float=Decimal)
        return Scenario(
            recorded_by=written["recorded_by"],
            people=tuple(DemoPerson(**person) for person in written["people"]),
            venues=tuple(_venue(venue) for venue in written["venues"]),
        )
    except (OSError, ValueError, TypeError, KeyError) as error:
        raise BadScenario(f"{path.name}: {error}") from error


def _venue(written: Table) -> VenueScript:
    return VenueScript(**{name: _settled(value) for name, value in written.items()})


def _settled(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value
