"""The demo as it is written down: people, venues with what they have, and what happened there."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

Table = Mapping[str, Any]
BARS = "bars.toml"


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
class Timeline:
    """What happened in one part of a bar, in order; `name` is the file that tells it."""

    name: str
    acts: tuple[Table, ...]


@dataclass(frozen=True, slots=True)
class VenueScript:
    """One bar: its settings and people, what it has, and what happened there, in order.

    `round` are the temperatures that the demo reads by itself when it is
    started on a later day; the timelines are laid into one another by the clock.
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
    timelines: tuple[Timeline, ...]


@dataclass(frozen=True, slots=True)
class Scenario:
    """The whole demo. `recorded_by` is who reads temperatures when the demo starts again."""

    recorded_by: str
    people: tuple[DemoPerson, ...]
    venues: tuple[VenueScript, ...]


def read_scenario(folder: Path) -> Scenario:
    """Read a scenario: `bars.toml`, and beside it a file for each further part of the bars' days.

    Each of these holds acts under the name of their bar. Raises BadScenario naming the file
    that is wrong.
    """
    written = _read(folder / BARS)
    further = {
        path.stem: _read(path) for path in sorted(folder.glob("*.toml")) if path.name != BARS
    }
    try:
        scenario = Scenario(
            recorded_by=written["recorded_by"],
            people=tuple(DemoPerson(**person) for person in written["people"]),
            venues=tuple(_venue(venue, further) for venue in written["venues"]),
        )
    except (ValueError, TypeError, KeyError) as error:
        raise BadScenario(f"{BARS}: {error}") from error
    _refuse_unknown_bars(scenario, further)
    return scenario


def _read(path: Path) -> Table:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"), parse_float=Decimal)
    except (OSError, ValueError) as error:
        raise BadScenario(f"{path.name}: {error}") from error


def _venue(written: Table, further: Mapping[str, Table]) -> VenueScript:
    settled = {name: _settled(value) for name, value in written.items()}
    timelines = [Timeline("bars", settled.pop("acts"))]
    timelines += [
        Timeline(name, tuple(acts[settled["name"]]))
        for name, acts in further.items()
        if settled["name"] in acts
    ]
    return VenueScript(**settled, timelines=tuple(timelines))


def _refuse_unknown_bars(scenario: Scenario, further: Mapping[str, Table]) -> None:
    known = {venue.name for venue in scenario.venues}
    for name, acts in further.items():
        if unknown := sorted(acts.keys() - known):
            raise BadScenario(f"{name}.toml: there is no bar called {unknown[0]}")


def _settled(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value
