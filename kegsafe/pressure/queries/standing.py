"""What failed pressure equipment, or gas set too high, means for the kegs that hang on it."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping

from django.db.models import Exists, F, OuterRef, Q

from kegsafe.equipment.models import Service
from kegsafe.pressure.models import Check, Item
from kegsafe.pressure.queries.connections import (
    End,
    connected_system,
    ends_around,
    item_key,
    keg_key,
)
from kegsafe.pressure.queries.facts import unmended
from kegsafe.pressure.queries.strain import may_be_set_too_high
from kegsafe.rules.findings import Finding, Severity
from kegsafe.rules.pressure.checks import kinds
from kegsafe.rules.pressure.gas_system import GasSystem, keg_findings

_NOT_IN_USE = {service.value: str(service.label).lower() for service in Service}


def standing_of_kegs(kegs: Collection[int]) -> dict[int, tuple[Finding, ...]]:
    """Return what stands against each keg because of its pressure equipment: four queries.

    A keg with a failed check that no passing one has followed, a relief valve on its lid
    that is not in use, every item upstream that is not in use, and a regulator set above what
    something it feeds bears by today's record. A keg without anything against it gives an
    empty tuple.
    """
    if not kegs:
        return {}
    ends = ends_around(kegs)
    sources, system = _sources(ends), connected_system(ends)
    upstream = {keg: _upstream(sources, ("keg", keg)) for keg in kegs}
    items = frozenset().union(*upstream.values())
    found: dict[int, list[Finding]] = {keg: [] for keg in kegs}
    for row in _faults(kegs, items):
        for keg in kegs:
            if keg in (row["of_keg"], row["fitted_to"]) or row["of_item"] in upstream[keg]:
                found[keg].append(_finding(row, is_fitted=row["fitted_to"] == keg))
    for keg, behind in upstream.items():
        found[keg].extend(_set_too_high(system, keg, behind))
    return {keg: tuple(dict.fromkeys(against)) for keg, against in found.items()}


def something_amiss(*, keg: OuterRef, venue: OuterRef) -> Q:
    """Return the condition on a keg under which `standing_of_kegs` may find something.

    Cheap enough to ask with every keg: a bar whose gear is in order pays no
    further query for it.
    """
    out = Item.objects.filter(venue=venue).exclude(service__in=(Service.IN_USE, Service.SCRAPPED))
    failed = Exists(unmended(Check.objects.filter(keg=keg)))
    return Q(Exists(out)) | Q(failed) | may_be_set_too_high(keg=keg, venue=venue)


_Node = tuple[str, int]


def _set_too_high(system: GasSystem, keg: int, upstream: Iterable[int]) -> Iterator[Finding]:
    for key in map(item_key, sorted(upstream)):
        if system.parts[key].kind == Item.Kind.REGULATOR:
            yield from keg_findings(system, key, keg_key(keg))


def _sources(ends: Iterable[End]) -> Mapping[_Node, set[int]]:
    fed_by: dict[_Node, set[int]] = defaultdict(set)
    for source, item, keg in ends:
        fed_by[("item", item) if item else ("keg", keg)].add(source)
    return fed_by


def _upstream(sources: Mapping[_Node, set[int]], start: _Node) -> frozenset[int]:
    reached: set[int] = set()
    waiting = [start]
    while waiting:
        for source in sources.get(waiting.pop(), set()) - reached:
            reached.add(source)
            waiting.append(("item", source))
    return frozenset(reached)


def _faults(kegs: Collection[int], items: Collection[int]) -> Iterator[Mapping[str, object]]:
    """Yield items that are not in use, and kegs' own failed checks, in one query."""
    out = (
        Item.objects.filter(Q(pk__in=items) | Q(keg__in=kegs))
        .exclude(service__in=(Service.IN_USE, Service.SCRAPPED))
        .order_by()
        .values(
            of_keg=F("pk") - F("pk"),
            of_item=F("pk"),
            fitted_to=F("keg_id"),
            what=F("kind"),
            named=F("name"),
            state=F("service"),
            reason=F("service_reason"),
        )
    )
    failed = (
        unmended(Check.objects.filter(keg__in=kegs))
        .order_by()
        .values(
            of_keg=F("keg_id"),
            of_item=F("keg_id") - F("keg_id"),
            fitted_to=F("keg_id") - F("keg_id"),
            what=F("outcome"),
            named=F("keg__name"),
            state=F("label"),
            reason=F("comment"),
        )
    )
    return iter(out.union(failed, all=True))


def _finding(row: Mapping[str, object], *, is_fitted: bool) -> Finding:
    reason = f": {row['reason']}" if row["reason"] else ""
    if row["of_keg"]:
        return Finding(
            "pressure.keg_failed",
            kinds()["keg"].on_failure,
            f"Keg {row['named']} failed: {row['state']}{reason}. It returns by a passing check.",
            "Checks of pressure equipment",
            "venue",
        )
    kind = kinds()[str(row["what"])]
    where = "on its lid" if is_fitted else "that feeds it"
    severity = Severity.STOP if is_fitted else kind.on_failure
    return Finding(
        f"pressure.{kind.key}_out",
        severity,
        f"{kind.label} {row['named']} {where} is {_NOT_IN_USE[str(row['state'])]}{reason}.",
        "Checks of pressure equipment",
        "venue",
    )
