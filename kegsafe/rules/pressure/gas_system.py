"""The gas system as it is connected, and the highest pressure a regulator in it may be set to.

The weakest part downstream decides, and the relief valve that opens first. A part whose
rating nobody copied from its plate is not allowed under pressure. A second regulator
further down does not lift the bound: it can fail open. All pressures are gauge, in Pa.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import ROUND_DOWN, ROUND_UP, Decimal

from kegsafe.rules.findings import Finding, Severity, gravest_first
from kegsafe.rules.pressure.figures import figure

# A relief valve on a keg's lid guards that keg alone; gas reaches the others past it.
_KEG, _CYLINDER, _REGULATOR = "keg", "cylinder", "regulator"
_OUT_OF_SERVICE = "set_pressure.out_of_service"


@dataclass(frozen=True, slots=True)
class Part:
    """One thing gas flows through or ends in.

    `rated_gauge_pa` is the maker's plate on the side that sees the set pressure, None when
    not recorded. `relief_gauge_pa` is the pressure at which it opens, for a relief valve or
    a regulator or keg that has one, None when it has none or the setting is not recorded.
    `inlet_rated_gauge_pa` is a regulator's, towards the cylinder, and `set_gauge_pa` what it
    is set to now.
    """

    key: str
    name: str
    kind: str
    rated_gauge_pa: Decimal | None
    relief_gauge_pa: Decimal | None = None
    inlet_rated_gauge_pa: Decimal | None = None
    in_use: bool = True
    set_gauge_pa: Decimal | None = None


@dataclass(frozen=True, slots=True)
class GasSystem:
    """Parts by key, and for each key the keys that it feeds."""

    parts: Mapping[str, Part]
    feeds: Mapping[str, tuple[str, ...]]

    def downstream(self, key: str) -> tuple[Part, ...]:
        """Return every part that gas from `key` reaches, without itself; a loop ends."""
        reached: dict[str, None] = {}
        waiting = list(self.feeds.get(key, ()))
        while waiting:
            each = waiting.pop()
            if each not in reached and each != key:
                reached[each] = None
                waiting.extend(self.feeds.get(each, ()))
        return tuple(self.parts[each] for each in reached)

    def sources(self, key: str) -> tuple[Part, ...]:
        """Return every part whose gas reaches `key`."""
        target = self.parts[key]
        return tuple(
            part
            for each, part in self.parts.items()
            if each != key and target in self.downstream(each)
        )

    def set_over(self, key: str) -> tuple[Part, ...]:
        """Return the regulators that are set and whose pressure stands on `key`, itself too."""
        candidates = (self.parts[key], *self.sources(key))
        return tuple(part for part in candidates if part.kind == _REGULATOR and part.set_gauge_pa)


@dataclass(frozen=True, slots=True)
class Ceiling:
    """The highest set pressure, gauge in Pa, and the part that decides it; None: none at all."""

    gauge_pa: Decimal | None
    decided_by: str
    findings: tuple[Finding, ...]


def ceiling(system: GasSystem, regulator: str) -> Ceiling:
    """Return the highest pressure a regulator may be set to, or why there is none."""
    parts = (system.parts[regulator], *system.downstream(regulator))
    stops = gravest_first(_refusals(system, parts))
    if stops:
        return Ceiling(None, "", stops)
    bounds = list(_bounds(parts))
    gauge_pa, why = min(bounds, key=lambda bound: bound[0])
    note = _note(f"At most {_bar(gauge_pa, ROUND_DOWN)}: {why}.")
    return Ceiling(gauge_pa, why, (note,))


def set_pressure_findings(
    system: GasSystem, regulator: str, set_gauge_pa: Decimal
) -> tuple[Finding, ...]:
    """Return every stop against a set pressure; none means nothing on record stands against it."""
    highest = ceiling(system, regulator)
    if highest.gauge_pa is None:
        return highest.findings
    parts = (system.parts[regulator], *system.downstream(regulator))
    return tuple(_over(parts, set_gauge_pa))


def borne_now(
    system: GasSystem, regulator: str, keg: str | None = None
) -> tuple[tuple[Finding, ...], tuple[Finding, ...]]:
    """Return what stands against the pressure a regulator is set to now: on a keg's way, elsewhere.

    A rating or a relief setting that is corrected after the regulator was set can be below what
    it is set to. On the way of a keg stands everything that its gas passes or that guards it, the
    keg and its lid; elsewhere are the other kegs on the same gas with theirs. Without a keg,
    everything is on the way. What is not in use is judged by its check and is not repeated here;
    a regulator that nobody set, or that is recorded as shut at zero, gives nothing.
    """
    source = system.parts[regulator]
    if not source.set_gauge_pa:
        return (), ()
    parts = (source, *system.downstream(regulator))
    others = {part.key for part in parts if part.kind == _KEG and part.key != keg} if keg else set()
    others |= {part.key for each in others for part in system.downstream(each)}
    own = tuple(part for part in parts if part.key not in others - {regulator, keg})
    on_its_way = _against(system, own, source.set_gauge_pa)
    elsewhere = (
        each for each in _against(system, parts, source.set_gauge_pa) if each not in on_its_way
    )
    return on_its_way, tuple(elsewhere)


def keg_findings(system: GasSystem, regulator: str, keg: str) -> Iterator[Finding]:
    """Yield what the pressure a regulator is set to now means for pouring a keg that it feeds.

    A stop where something on the keg's way bears less; an ask where only another keg on the same
    gas does: the remedy, a lower set pressure, is the same.
    """
    on_its_way, elsewhere = borne_now(system, regulator, keg)
    fed, name = f"{system.parts[regulator].name} feeds {system.parts[keg].name}", "pressure."
    for each in on_its_way:
        yield replace(each, rule=name + each.rule, statement=f"{fed}. {each.statement}")
    for each in elsewhere:
        statement = f"{fed} and more. {each.statement}"
        yield replace(each, rule=name + each.rule, severity=Severity.ASK, statement=statement)


def _against(
    system: GasSystem, parts: tuple[Part, ...], set_gauge_pa: Decimal
) -> tuple[Finding, ...]:
    refused = (each for each in _refusals(system, parts) if each.rule != _OUT_OF_SERVICE)
    return (*_over(parts, set_gauge_pa), *refused)


def _over(parts: Iterable[Part], set_gauge_pa: Decimal) -> Iterator[Finding]:
    for bound, why in sorted(_bounds(parts)):
        if set_gauge_pa > bound:
            yield _stop(
                "set_pressure.too_high",
                f"{_bar(set_gauge_pa, ROUND_UP)} is above {_bar(bound, ROUND_DOWN)}: {why}. Set "
                "the regulator lower.",
            )


def connection_findings(
    system: GasSystem, regulators: Mapping[str, Decimal]
) -> tuple[Finding, ...]:
    """Return every stop against a system as it would stand.

    `regulators` holds what each one is set to, gauge in Pa. A cylinder that feeds anything but
    a regulator is a stop of its own.
    """
    found: list[Finding] = list(_unregulated(system))
    found.extend(_inlets(system))
    for key, set_gauge_pa in regulators.items():
        found.extend(set_pressure_findings(system, key, set_gauge_pa))
    return gravest_first(dict.fromkeys(found))


def _refusals(system: GasSystem, parts: Iterable[Part]) -> Iterator[Finding]:
    parts = tuple(parts)
    for part in parts:
        if part.kind != "relief_valve" and part.rated_gauge_pa is None:
            yield _stop(
                "set_pressure.no_rating",
                f"No rated pressure of {part.name} is on record: not allowed under pressure. Copy "
                "it from the maker's plate.",
            )
        if part.kind == "relief_valve" and part.relief_gauge_pa is None:
            yield _stop(
                "set_pressure.no_relief_setting",
                f"The set pressure of {part.name} is not on record: it cannot be counted on.",
            )
        if not part.in_use:
            yield _stop(_OUT_OF_SERVICE, f"{part.name} is not in use.")
    yield from _unguarded(system, parts)


def _unguarded(system: GasSystem, parts: tuple[Part, ...]) -> Iterator[Finding]:
    """Every rated part needs a relief valve that all of it is behind, set no higher than it."""
    guards = [part for part in parts if part.relief_gauge_pa is not None and part.kind != _KEG]
    guards = [guard for guard in guards if not _is_on_a_keg(system, guard)]
    if not guards:
        yield _stop(
            "set_pressure.no_relief_valve",
            f"No relief valve with a known setting stands between {parts[0].name} and the kegs.",
        )
    rated = [part for part in parts if part.rated_gauge_pa is not None]
    if not rated:
        return
    weakest = min(rated, key=lambda part: part.rated_gauge_pa or Decimal(0))
    for guard in guards:
        yield from _too_late(guard, weakest)
    for part in parts:
        if part.kind == _KEG:
            yield from _keg_reliefs(system, part)


def _keg_reliefs(system: GasSystem, keg: Part) -> Iterator[Finding]:
    if keg.relief_gauge_pa is not None:
        yield from _too_late(keg, keg)
    for valve in system.downstream(keg.key):
        yield from _too_late(valve, keg)


def _too_late(guard: Part, guarded: Part) -> Iterator[Finding]:
    """A relief valve protects only what is rated at or above its set pressure."""
    relief, rated = guard.relief_gauge_pa, guarded.rated_gauge_pa
    if relief is not None and rated is not None and relief > rated:
        yield _stop(
            "set_pressure.relief_above_rating",
            f"The relief of {guard.name} opens at {_bar(relief, ROUND_UP)}, above the rated "
            f"{_bar(rated, ROUND_DOWN)} of {guarded.name}: it protects nothing there.",
        )


def _is_on_a_keg(system: GasSystem, guard: Part) -> bool:
    return any(source.kind == _KEG for source in system.sources(guard.key))


def _bounds(parts: Iterable[Part]) -> Iterator[tuple[Decimal, str]]:
    share = figure("set_pressure.relief_share").value / 100
    for part in parts:
        if part.rated_gauge_pa is not None:
            yield part.rated_gauge_pa, f"{part.name} is rated {_bar(part.rated_gauge_pa)}"
        if part.relief_gauge_pa is not None:
            most = part.relief_gauge_pa * share
            opens = _bar(part.relief_gauge_pa)
            yield most, f"{part.name} opens at {opens}, of which nine tenths may be used"


def _unregulated(system: GasSystem) -> Iterator[Finding]:
    for key, part in system.parts.items():
        if part.kind != _CYLINDER:
            continue
        for fed in (system.parts[each] for each in system.feeds.get(key, ())):
            if fed.kind != _REGULATOR:
                yield _stop(
                    "set_pressure.no_regulator",
                    f"{part.name} would feed {fed.name} without a regulator. Never connect a "
                    "cylinder without one.",
                )


def _inlets(system: GasSystem) -> Iterator[Finding]:
    least = figure("set_pressure.regulator_inlet")
    for key, part in system.parts.items():
        if part.kind != _CYLINDER:
            continue
        for fed in (system.parts[each] for each in system.feeds.get(key, ())):
            inlet = fed.inlet_rated_gauge_pa
            if fed.kind == _REGULATOR and (inlet is None or inlet < least.value):
                said = "not on record" if inlet is None else _bar(inlet)
                yield Finding(
                    least.rule,
                    Severity.STOP,
                    f"The inlet rating of {fed.name} is {said}; on a CO2 cylinder it is at least "
                    f"{_bar(least.value)}.",
                    least.source,
                    least.verified,
                )


def _stop(rule: str, statement: str) -> Finding:
    return Finding(rule, Severity.STOP, statement, "Record of the equipment", "record")


def _note(statement: str) -> Finding:
    return Finding(
        "set_pressure.highest", Severity.NOTE, statement, "Record of the equipment", "record"
    )


def _bar(pa: Decimal, rounding: str = ROUND_DOWN) -> str:
    return f"{(pa / 100_000).quantize(Decimal('0.01'), rounding):f} bar gauge"
