"""What people of the scenario do with cylinders, gauges and valves."""

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from io import BytesIO
from typing import Any

from reportlab.lib.pagesizes import A6
from reportlab.lib.units import mm

from kegsafe.demo.desk import Desk, read_as
from kegsafe.equipment.models import Keg
from kegsafe.frame.documents import NewDocument
from kegsafe.ledger.services import Recorder
from kegsafe.pressure import services as pressure
from kegsafe.pressure.models import Item
from kegsafe.quantities import Kind, in_unit, read
from kegsafe.reports.text import new_canvas, paragraph, style
from kegsafe.rules.pressure.checks import Result, points_of

# What the scenario calls it: the record's field, and the kind of quantity that is typed.
_PLATE = {
    "rated": ("rated_gauge_pa", Kind.GAUGE_PRESSURE),
    "inlet": ("inlet_rated_gauge_pa", Kind.GAUGE_PRESSURE),
    "tested_at": ("test_gauge_pa", Kind.GAUGE_PRESSURE),
    "relief": ("relief_gauge_pa", Kind.GAUGE_PRESSURE),
    "water_capacity": ("volume_ml", Kind.VOLUME),
    "tare": ("tare_g", Kind.MASS),
    "charge": ("charge_g", Kind.MASS),
}
_ALARMS = {"first_alarm": "first_alarm_ppm", "main_alarm": "main_alarm_ppm"}
_MONTHS = {"stamped": "stamped_on", "marked": "marked_on"}


def gas_room(
    desk: Desk,
    at: datetime,
    by: Recorder,
    *,
    name: str,
    volume: str | None = None,
    air_changes: str | None = None,
    below_ground: bool | None = None,
    ventilation: str = "",
) -> None:
    """Add a room where gas is kept."""
    added = pressure.add_gas_room(
        venue=desk.venue,
        name=name,
        volume_m3=read_as(volume, Kind.ROOM_VOLUME),
        air_changes_per_h=read_as(air_changes, Kind.AIR_CHANGES),
        is_below_ground=below_ground,
        ventilation=ventilation,
        by=by,
    )
    desk.keep("gas room", name, added)


def gear(
    desk: Desk,
    at: datetime,
    by: Recorder,
    *,
    kind: str,
    names: Sequence[str],
    room: str = "",
    on_kegs: Sequence[str] = (),
    **plate: Any,
) -> None:
    """Add alike pieces of equipment with what their plates say; lid valves each with its keg."""
    values = {**_plate(desk, plate), "room": desk.get("gas room", room) if room else None}
    for number, name in enumerate(names):
        keg = desk.get("keg", on_kegs[number]) if on_kegs else None
        added = pressure.add_item(venue=desk.venue, kind=kind, name=name, keg=keg, by=by, **values)
        desk.keep("gear", str(added), added)


def connect(
    desk: Desk, at: datetime, by: Recorder, *, source: str, to: str = "", keg: str = ""
) -> None:
    """Let gas flow from a piece of equipment to another or to a keg."""
    end = {"keg": desk.get("keg", keg)} if keg else {"item": desk.get("gear", to)}
    made = pressure.connect(source=desk.get("gear", source), at=at, by=by, **end)
    desk.keep("connection", keg or to, made)


def disconnect(desk: Desk, at: datetime, by: Recorder, *, kegs: Sequence[str]) -> None:
    """Take kegs off gas."""
    for keg in kegs:
        pressure.disconnect(desk.get("connection", keg), at=at, by=by)


def set_regulator(desk: Desk, at: datetime, by: Recorder, *, regulator: str, to: str) -> None:
    """Set a regulator."""
    pressure.set_pressure(
        regulator=desk.get("gear", regulator),
        set_gauge_pa=read(to, Kind.GAUGE_PRESSURE).value,
        by=by,
    )


def charge(
    desk: Desk,
    at: datetime,
    by: Recorder,
    *,
    cylinder: str,
    supplier: str,
    lot: str,
    amount: str,
    registration: str = "",
    certificate: str = "",
) -> None:
    """Accept food-grade gas in a cylinder."""
    pressure.charge_cylinder(
        cylinder=desk.get("gear", cylinder),
        received_at=at,
        supplier=supplier,
        registration=registration,
        grade="food",
        lot=lot,
        certificate=certificate,
        charge_g=read(amount, Kind.MASS).value,
        by=by,
    )


def weigh(
    desk: Desk, at: datetime, by: Recorder, *, cylinder: str, gross: str, within: str
) -> None:
    """Put a cylinder on the scale."""
    pressure.weigh_cylinder(
        cylinder=desk.get("gear", cylinder),
        gross_g=read(gross, Kind.MASS).value,
        uncertainty_g=read(within, Kind.MASS).value,
        weighed_at=at,
        by=by,
    )


def check(
    desk: Desk,
    at: datetime,
    by: Recorder,
    *,
    check: str,
    gear: Sequence[str] = (),
    kegs: Sequence[str] = (),
    failed: Sequence[str] = (),
    **said: str,
) -> None:
    """Look at equipment point by point; all passes but what is named as failed."""
    things: list[Item | Keg] = [desk.get("gear", name) for name in gear]
    things += [desk.get("keg", name) for name in kegs]
    for thing in things:
        is_keg = isinstance(thing, Keg)
        points = points_of("keg" if is_keg else thing.kind, check)
        pressure.record_check(
            check=check,
            results={
                point.key: Result.FAIL if point.key in failed else Result.PASS for point in points
            },
            checked_at=at,
            by=by,
            **{"keg" if is_keg else "item": thing},
            **said,
        )


def interval(
    desk: Desk,
    at: datetime,
    by: Recorder,
    *,
    kegs: Sequence[str],
    check: str,
    months: int,
    basis: str = "owner",
    reference: str = "",
) -> None:
    """Set how often a check of some kegs comes round."""
    for keg in kegs:
        pressure.set_interval(
            keg=desk.get("keg", keg),
            check=check,
            months=months,
            basis=basis,
            reference=reference,
            by=by,
        )


def paper(
    desk: Desk,
    at: datetime,
    by: Recorder,
    *,
    kind: str,
    name: str,
    says: Sequence[str],
    gear: str = "",
    room: str = "",
) -> None:
    """Keep a paper of one small page with equipment or a room."""
    about = {"room": desk.get("gas room", room)} if room else {"item": desk.get("gear", gear)}
    sent = NewDocument(f"{name}.pdf", _page(name, says))
    pressure.keep_document(venue=desk.venue, kind=kind, sent=sent, by=by, **about)


def _plate(desk: Desk, plate: Mapping[str, Any]) -> dict[str, Any]:
    values: dict[str, Any] = {}
    for name, said in plate.items():
        if name in _PLATE:
            field, kind = _PLATE[name]
            values[field] = read_as(said, kind)
        elif name in _ALARMS:
            values[_ALARMS[name]] = int(in_unit(read(said, Kind.GAS_FRACTION), "ppm"))
        elif name in _MONTHS:
            values[_MONTHS[name]] = desk.moments.day(said).replace(day=1)
        elif name == "replace_by":
            values[name] = desk.moments.day(said)
        else:
            values[name] = said
    return values


def _page(heading: str, lines: Sequence[str]) -> bytes:
    buffer = BytesIO()
    canvas = new_canvas(buffer, A6, title=heading, author="the demo")
    top = A6[1] - 12 * mm
    for number, line in enumerate((heading, *lines)):
        text = paragraph(line, style=style(11 if number == 0 else 8, bold=number == 0))
        _, height = text.wrapOn(canvas, A6[0] - 20 * mm, top)
        top -= height + 2 * mm
        text.drawOn(canvas, 10 * mm, top)
    canvas.save()
    return buffer.getvalue()


PRESSURE: Mapping[str, Callable[..., None]] = {
    "gas room": gas_room,
    "gear": gear,
    "connect gas": connect,
    "take off gas": disconnect,
    "set regulator": set_regulator,
    "receive gas": charge,
    "weigh": weigh,
    "check gear": check,
    "set interval": interval,
    "file paper": paper,
}
