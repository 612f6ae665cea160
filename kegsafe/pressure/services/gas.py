"""Connecting, setting and charging: refused, with the part named, where something bears less."""

from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from kegsafe.equipment.models import Keg, Service
from kegsafe.ledger.models import Entry
from kegsafe.ledger.services import Recorder, create, record, take_turn
from kegsafe.pressure.models import Connection, GasFill, Item, Weighing
from kegsafe.pressure.queries import gas_system, item_facts, item_key, keg_key
from kegsafe.pressure.services.places import in_places, require_past, require_venue
from kegsafe.rules.findings import Finding, Severity
from kegsafe.rules.pressure.due import may_be_refilled
from kegsafe.rules.pressure.gas_system import GasSystem, connection_findings, set_pressure_findings


@transaction.atomic
def connect(
    *, source: Item, item: Item | None = None, keg: Keg | None = None, at: datetime, by: Recorder
) -> Connection:
    """Let gas flow from an item to another or to a keg.

    Raises ValidationError, naming the part, where anything downstream bears less than what a
    regulator is set to, has no rating on record, or is not in use; where a cylinder would
    feed without a regulator; and where a keg would hang on a regulator nobody set.
    """
    take_turn(by)
    require_venue(source.venue_id, item, keg)
    require_past(at, "at")
    connection = Connection(venue=source.venue, source=source, item=item, keg=keg, began_at=at)
    _refuse(_unusable(source, item, keg))
    create(connection, by=by, action="connected")
    system = gas_system(source.venue)
    key = keg_key(keg.pk) if keg else item_key(item.pk)
    _refuse(_against(system, key, item_key(source.pk)))
    return connection


@transaction.atomic
def disconnect(connection: Connection, *, at: datetime, by: Recorder) -> Entry:
    """End a connection. Raises ValidationError when it had ended before."""
    take_turn(by)
    current = Connection.objects.select_for_update().get(pk=connection.pk)
    if current.ended_at is not None:
        raise ValidationError("It was disconnected already.")
    require_past(at, "at")
    current.ended_at = connection.ended_at = at
    current.full_clean()
    current.save(update_fields=["ended_at"])
    return record(current, by=by, action="disconnected")


@transaction.atomic
def set_pressure(*, regulator: Item, set_gauge_pa: Decimal, by: Recorder) -> Entry:
    """Set a regulator, gauge in Pa. Refused above the lowest rating or relief behind it.

    Zero is recorded whatever stands behind it: a regulator is always allowed to be shut.
    """
    take_turn(by)
    current = Item.objects.select_for_update().get(pk=regulator.pk)
    if current.kind != Item.Kind.REGULATOR:
        raise ValidationError("Only a regulator is set to a pressure.")
    wanted = in_places(Item, {"set_gauge_pa": set_gauge_pa})["set_gauge_pa"]
    if wanted < 0:
        raise ValidationError(
            {"set_pressure": "A set pressure is a gauge reading of zero or more."}
        )
    system = gas_system(current.venue)
    found = set_pressure_findings(system, item_key(current.pk), wanted)
    if found and wanted > 0:
        raise ValidationError({"set_pressure": [finding.statement for finding in found]})
    current.set_gauge_pa = regulator.set_gauge_pa = wanted
    current.full_clean()
    current.save(update_fields=["set_gauge_pa"])
    return record(current, by=by, action="set to a pressure")


@transaction.atomic
def charge_cylinder(
    *,
    cylinder: Item,
    received_at: datetime,
    supplier: str,
    grade: str,
    lot: str,
    charge_g: Decimal,
    registration: str = "",
    certificate: str = "",
    by: Recorder,
) -> GasFill:
    """Accept a fresh charge of gas with its lot.

    Raises ValidationError for a cylinder that is out of date or whose date is not known, and
    for gas that is not food grade: only food-grade gas touches a drink.
    """
    require_past(received_at, "received_at")
    current = Item.objects.select_for_update().get(pk=cylinder.pk)
    if current.kind != Item.Kind.CYLINDER:
        raise ValidationError("Only a gas cylinder is charged.")
    if current.service != Service.IN_USE:
        raise ValidationError(f"{current} is {current.get_service_display().lower()}.")
    refused = may_be_refilled(item_facts(current), current.venue.local(received_at).date())
    if refused:
        raise ValidationError(refused)
    if grade != GasFill.Grade.FOOD:
        raise ValidationError(
            {
                "grade": "Only food-grade gas with a lot on its label may touch a drink. "
                "Send it back."
            }
        )
    values = {
        "supplier": supplier,
        "registration": registration,
        "lot": lot,
        "certificate": certificate,
        "charge_g": charge_g,
    }
    fresh = GasFill(
        item=current,
        received_at=received_at,
        grade=grade,
        recorded_by=by.person,
        **in_places(GasFill, values),
    )
    create(fresh, by=by, action="gas received")
    return fresh


@transaction.atomic
def weigh_cylinder(
    *,
    cylinder: Item,
    gross_g: Decimal,
    uncertainty_g: Decimal,
    weighed_at: datetime | None = None,
    by: Recorder,
) -> Weighing:
    """Record a cylinder on the scale. Lighter than its tare, it was misread or is another one."""
    weighed_at = weighed_at or timezone.now()
    require_past(weighed_at, "weighed_at")
    if cylinder.kind != Item.Kind.CYLINDER:
        raise ValidationError("Only a gas cylinder is weighed.")
    if cylinder.tare_g is not None and gross_g < cylinder.tare_g:
        raise ValidationError(
            {
                "gross": f"Lighter than its tare of {cylinder.tare_g.normalize():f} g. Read the "
                "scale and the number on the shoulder again."
            }
        )
    values = in_places(Weighing, {"gross_g": gross_g, "uncertainty_g": uncertainty_g})
    weighing = Weighing(item=cylinder, weighed_at=weighed_at, recorded_by=by.person, **values)
    create(weighing, by=by, action="weighed")
    return weighing


def _unusable(source: Item, item: Item | None, keg: Keg | None) -> list[str]:
    target = item or keg
    said = [
        f"{each} is {each.get_service_display().lower()}."
        for each in (source, target)
        if each is not None and each.service != Service.IN_USE
    ]
    if source.kind == Item.Kind.MONITOR or (item and item.kind == Item.Kind.MONITOR):
        said.append("A monitor stands in a room; no gas runs through it.")
    if source.kind == Item.Kind.RELIEF_VALVE:
        said.append("A relief valve ends a branch: it feeds nothing.")
    if item and item.kind == Item.Kind.CYLINDER:
        said.append("Gas runs from a cylinder, never into one: a cylinder is filled by its owner.")
    return said


def _against(system: GasSystem, key: str, source_key: str) -> list[str]:
    """Return what stands against the connection that was just made."""
    part = system.parts[key]
    if system.parts[source_key] in system.downstream(key):
        return ["Gas would run in a circle."]
    upstream = {source.key: source for source in system.sources(key)} | {key: part}
    set_to = {
        each.key: each.set_gauge_pa for each in upstream.values() if each.set_gauge_pa is not None
    }
    said = _stops(connection_findings(_only(system, upstream, key), set_to))
    regulators = [each for each in upstream.values() if each.kind == "regulator"]
    if part.kind == "keg" and (
        not regulators or any(each.key not in set_to for each in regulators)
    ):
        said.append(
            f"{part.name} would hang on a regulator that nobody set, or on none. Set the regulator "
            "first: the pressure it is set to decides what may be connected."
        )
    return said


def _only(system: GasSystem, upstream: Iterable[str], key: str) -> GasSystem:
    """Leave out what this connection does not touch: another system's faults are its own."""
    kept = set(upstream) | {part.key for part in system.downstream(key)}
    for each in upstream:
        kept |= {part.key for part in system.downstream(each)}
    return GasSystem(
        {each: part for each, part in system.parts.items() if each in kept},
        {
            each: tuple(fed for fed in feeds if fed in kept)
            for each, feeds in system.feeds.items()
            if each in kept
        },
    )


def _stops(findings: Iterable[Finding]) -> list[str]:
    return [each.statement for each in findings if each.severity is Severity.STOP]


def _refuse(said: list[str]) -> None:
    if said:
        raise ValidationError(said)
