"""Whether a room is too small for the gas kept in it.

A screening figure: it assumes that the gas mixes, and CO2 does not. It can say 'too
small'. Below every limit it says nothing in the room's favour.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from kegsafe.rules.findings import Finding, Severity, gravest_first
from kegsafe.rules.pressure.exposure import ExposureLimit, Role, exposure_limit
from kegsafe.rules.pressure.figures import figure
from kegsafe.rules.pressure.shift import Shift, shift_while_clearing
from kegsafe.science.gas_release import OUTDOOR_PPM, Release, full_release, hours_to_decay

_SCREENING = "Complete mixing of all the gas, screening figure"
WHAT_TO_DO = (
    "If an alarm sounds or somebody has collapsed: do not go in. Leave, keep others out, call "
    "the emergency number.",
    "CO2 cannot be seen or smelled. An oxygen meter or a carbon monoxide alarm does not protect "
    "against it, and a flame is no test.",
    "Nobody goes back in on the strength of a calculation: a measured reading decides.",
    "Air the room from outside, low down, where the gas lies.",
)


@dataclass(frozen=True, slots=True)
class Monitor:
    """A CO2 monitor and the concentrations at which it sounds, ppm; None: not recorded."""

    name: str
    in_use: bool
    first_alarm_ppm: int | None
    main_alarm_ppm: int | None


@dataclass(frozen=True, slots=True)
class RoomFacts:
    """A room with gas. Volumes in m3, charges in kg; None means not recorded.

    `charges_kg` holds one entry for every cylinder kept there, spares too.
    """

    name: str
    volume_m3: float | None
    air_changes_per_h: float | None
    is_below_ground: bool | None
    charges_kg: tuple[float | None, ...]
    monitors: tuple[Monitor, ...] = ()


@dataclass(frozen=True, slots=True)
class RoomVerdict:
    """The screening figure and what follows. `release` is None where it cannot be computed.

    `hours_to_long_limit` is the least time of ventilation, and `shift` what eight hours in there
    would come to; both are None without a known exchange.
    """

    release: Release | None
    largest_kg: float | None
    total_kg: float | None
    hours_to_long_limit: float | None
    shift: Shift | None
    limits: tuple[ExposureLimit, ...]
    findings: tuple[Finding, ...]


def judge_room(room: RoomFacts, regime: str) -> RoomVerdict:
    """Return what happens in a room if its largest cylinder empties, against a regime's limits."""
    limits = tuple(exposure_limit(role, regime) for role in _OF_PEOPLE)
    known = [charge for charge in room.charges_kg if charge is not None]
    is_whole = bool(known) and len(known) == len(room.charges_kg)
    release = _release(room, known) if is_whole else None
    clearing = _clearing(room, release)
    hours = hours_to_decay(clearing[0], limits[0].ppm, clearing[1]) if clearing else None
    findings = [
        *_missing(room),
        *(_against(release, limits) if release else ()),
        *_thresholds(room, sum(known) if is_whole else None, release, regime),
        *_monitors(room, regime),
    ]
    return RoomVerdict(
        release,
        max(known, default=None),
        sum(known) if is_whole else None,
        hours,
        shift_while_clearing(*clearing, regime) if clearing else None,
        limits,
        gravest_first(findings),
    )


_OF_PEOPLE = (Role.LONG, Role.SHORT, Role.IMMEDIATE)


def _release(room: RoomFacts, known: list[float]) -> Release | None:
    return None if room.volume_m3 is None else full_release(max(known), room.volume_m3)


def _clearing(room: RoomFacts, release: Release | None) -> tuple[float, float] | None:
    """Return what is in the air when the release ends, ppm, and the air changes an hour."""
    if release is None or not room.air_changes_per_h or release.screening_ppm < OUTDOOR_PPM:
        return None
    return release.screening_ppm, room.air_changes_per_h


def _missing(room: RoomFacts) -> Iterator[Finding]:
    if room.volume_m3 is None:
        yield _ask("room.no_volume", f"The volume of {room.name} is not on record: measure it.")
    if None in room.charges_kg:
        yield _ask(
            "room.no_charge",
            f"The charge of a cylinder in {room.name} is not on record: the room cannot be judged.",
        )
    if not room.charges_kg:
        yield _ask("room.no_cylinder", f"No cylinder is on record as kept in {room.name}.")
    if room.air_changes_per_h is None:
        yield _ask(
            "room.no_ventilation",
            f"The air exchange of {room.name} is not on record: how long gas stays is not known.",
        )


def _against(release: Release, limits: tuple[ExposureLimit, ...]) -> Iterator[Finding]:
    percent = _percent(release.screening_ppm)
    passed = [limit for limit in limits if release.screening_ppm > limit.ppm]
    for limit in passed:
        deadly = limit.role is Role.IMMEDIATE
        yield Finding(
            f"room.above_{limit.role}",
            Severity.STOP if deadly else Severity.ASK,
            f"Too small: the largest cylinder makes {percent} of the air, above "
            f"{_percent(limit.ppm)} ({limit.name}, {limit.averaging})."
            + (" Dangerous to life at once." if deadly else ""),
            limit.citation,
            limit.verified,
        )
    if not passed:
        yield Finding(
            "room.below_limits",
            Severity.WARN,
            f"The screening figure is {percent}, below the limits named here. That proves nothing "
            "of the room: near the floor and in pits it can be several times stronger.",
            _SCREENING,
            "computed",
        )


def _thresholds(
    room: RoomFacts, total_kg: float | None, release: Release | None, regime: str
) -> Iterator[Finding]:
    if regime in {"US", ""}:
        yield from _fire_code(room, total_kg)
    if regime in {"EU", ""} and release is not None:
        fault = figure("room.germany_fault_ppm")
        if release.screening_ppm > float(fault.value):
            yield Finding(
                fault.rule,
                Severity.ASK,
                f"A fault could pass {_percent(float(fault.value))}: German practice asks for "
                "openings, a fan or a CO2 warning system. Elsewhere ask the labour inspectorate.",
                fault.source,
                fault.verified,
            )


def _fire_code(room: RoomFacts, total_kg: float | None) -> Iterator[Finding]:
    most = figure("room.us_co2_mass")
    if total_kg is not None and Decimal(str(total_kg)) > most.value:
        yield Finding(
            most.rule,
            Severity.ASK,
            f"{total_kg:.1f} kg of CO2, above {most.value} kg: the fire code calls for ventilation "
            "or detection, and signs. Ask the fire code official which edition holds.",
            most.source,
            most.verified,
        )
    if room.is_below_ground is not False:
        said = "is below ground" if room.is_below_ground else "may be below ground (not recorded)"
        yield Finding(
            "room.below_grade",
            Severity.ASK,
            f"{room.name} {said}: local amendments can apply to any amount there. Ask the fire "
            "code official.",
            most.source,
            most.verified,
        )


def _monitors(room: RoomFacts, regime: str) -> Iterator[Finding]:
    working = [monitor for monitor in room.monitors if monitor.in_use]
    if not working:
        yield _ask(
            "room.no_monitor",
            f"No CO2 monitor in use is on record for {room.name}. Whether one must be there is for "
            "the authority; nobody notices the gas without one.",
        )
    for monitor in working:
        settings = (
            (Role.FIRST_ALARM, monitor.first_alarm_ppm),
            (Role.MAIN_ALARM, monitor.main_alarm_ppm),
        )
        for role, ppm in settings:
            yield from _alarm(monitor, exposure_limit(role, regime), ppm)


def _alarm(monitor: Monitor, limit: ExposureLimit, ppm: int | None) -> Iterator[Finding]:
    alarm = "first alarm" if limit.role is Role.FIRST_ALARM else "main alarm"
    if ppm is None:
        yield _ask("room.alarm_not_known", f"The {alarm} of {monitor.name} is not on record.")
    elif ppm > limit.ppm:
        yield Finding(
            f"room.{limit.role}_late",
            Severity.ASK,
            f"The {alarm} of {monitor.name} sounds at {ppm} ppm, above {limit.ppm} ppm.",
            limit.citation,
            limit.verified,
        )


def _ask(rule: str, statement: str) -> Finding:
    return Finding(rule, Severity.ASK, statement, "Record of the equipment", "record")


def _percent(ppm: float) -> str:
    return f"{ppm / 10_000:.2g} %" if ppm < 100_000 else f"{ppm / 10_000:.3g} %"
