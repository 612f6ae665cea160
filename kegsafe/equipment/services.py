"""What changes about kegs, lines, taps and places, and the memory of what they held."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from kegsafe.equipment.models import Keg, Line, Place, Placement, Service, Tap, Use
from kegsafe.ledger.models import Entry, Recorded
from kegsafe.ledger.services import Recorder, amend, create, record
from kegsafe.venues.models import Venue

TENTH = Decimal("0.1")
HUNDREDTH = Decimal("0.01")

_SERVICE_ACTS = {
    Service.IN_USE: "put into use",
    Service.OUT_OF_SERVICE: "taken out of service",
    Service.QUARANTINED: "quarantined",
    Service.SCRAPPED: "scrapped",
}


@transaction.atomic
def add_place(*, venue: Venue, name: str, kind: str, by: Recorder) -> Place:
    """Add somewhere kegs and lots stand."""
    place = Place(venue=venue, name=name.strip(), kind=kind)
    create(place, by=by, action="added")
    return place


@transaction.atomic
def amend_place(
    *,
    place: Place,
    changes: Mapping[str, Any],
    reason: str,
    by: Recorder,
    seen_sequence: int | None = None,
) -> Entry | None:
    """Change a place. One where kegs stand cannot be closed."""
    closes = place.is_active and changes.get("is_active") is False
    if closes and Placement.objects.filter(place=place, ended_at=None).exists():
        raise ValidationError({"is_active": "Kegs stand here. Move them to another place first."})
    return amend(place, changes, by=by, reason=reason, seen_sequence=seen_sequence)


@transaction.atomic
def add_keg(
    *,
    venue: Venue,
    name: str,
    capacity_ml: Decimal,
    rated_gauge_pa: Decimal | None,
    metal: str,
    serial: str = "",
    by: Recorder,
) -> Keg:
    """Add a keg. `rated_gauge_pa` is what the maker's plate says, None where it says nothing."""
    keg = Keg(
        venue=venue,
        name=name.strip(),
        capacity_ml=capacity_ml.quantize(TENTH),
        rated_gauge_pa=_to_places(rated_gauge_pa, TENTH),
        metal=metal,
        serial=serial.strip(),
    )
    create(keg, by=by, action="added")
    return keg


@transaction.atomic
def amend_keg(
    *,
    keg: Keg,
    changes: Mapping[str, Any],
    reason: str,
    by: Recorder,
    seen_sequence: int | None = None,
) -> Entry | None:
    """Change what is known of a keg: name, serial, capacity_ml, rated_gauge_pa, metal."""
    rounded = _rounded(changes, TENTH, "capacity_ml", "rated_gauge_pa")
    return amend(keg, rounded, by=by, reason=reason, seen_sequence=seen_sequence)


@transaction.atomic
def add_line(
    *,
    venue: Venue,
    name: str,
    inner_diameter_mm: Decimal | None = None,
    length_m: Decimal | None = None,
    metal: str,
    by: Recorder,
) -> Line:
    """Add the tube from a coupler to a tap."""
    line = Line(
        venue=venue,
        name=name.strip(),
        inner_diameter_mm=_to_places(inner_diameter_mm, HUNDREDTH),
        length_m=_to_places(length_m, HUNDREDTH),
        metal=metal,
    )
    create(line, by=by, action="added")
    return line


@transaction.atomic
def amend_line(
    *,
    line: Line,
    changes: Mapping[str, Any],
    reason: str,
    by: Recorder,
    seen_sequence: int | None = None,
) -> Entry | None:
    """Change what is known of a line: name, inner_diameter_mm, length_m, metal."""
    rounded = _rounded(changes, HUNDREDTH, "inner_diameter_mm", "length_m")
    return amend(line, rounded, by=by, reason=reason, seen_sequence=seen_sequence)


@transaction.atomic
def add_tap(*, venue: Venue, name: str, line: Line, by: Recorder) -> Tap:
    """Add a tap at the end of a line."""
    _same_venue(venue.pk, line)
    tap = Tap(venue=venue, name=name.strip(), line=line)
    create(tap, by=by, action="added")
    return tap


@transaction.atomic
def amend_tap(
    *,
    tap: Tap,
    changes: Mapping[str, Any],
    reason: str,
    by: Recorder,
    seen_sequence: int | None = None,
) -> Entry | None:
    """Change a tap. It keeps its line while that line carries a drink."""
    moves = changes.get("line", tap.line) != tap.line or changes.get("is_active") is False
    if moves and Use.objects.filter(line=tap.line_id, ended_at=None).exists():
        raise ValidationError({"line": f"{tap.line} carries a drink: take it off tap first."})
    if "line" in changes:
        _same_venue(tap.venue_id, changes["line"])
    return amend(tap, changes, by=by, reason=reason, seen_sequence=seen_sequence)


@transaction.atomic
def set_service(item: Keg | Line, *, service: str, reason: str, by: Recorder) -> Entry | None:
    """Take a keg or line out of use, or put it back. The reason is kept.

    Raises ValidationError for scrapping one that holds a drink, and for a scrapped one.
    """
    current = type(item).objects.select_for_update().get(pk=item.pk)
    _check_service(current, Service(service))
    changes: dict[str, Any] = {"service": Service(service)}
    if isinstance(current, Keg):
        changes["service_reason"] = "" if service == Service.IN_USE else reason.strip()
    return amend(item, changes, by=by, reason=reason, action=_SERVICE_ACTS[Service(service)])


@transaction.atomic
def begin_use(
    *,
    keg: Keg | None = None,
    line: Line | None = None,
    drink: str,
    allergens: Sequence[str],
    carried_over: Sequence[str],
    began_at: datetime,
    by: Recorder,
) -> Use:
    """Remember that a keg or a line holds a drink from now on.

    Raises ValidationError when it still holds another, is not in service, or
    `began_at` lies in the future or before the last drink was out.
    """
    item = _locked_item(keg, line)
    _check_may_hold(item, began_at)
    use = Use(
        keg=keg,
        line=line,
        drink=drink,
        allergens=sorted(set(allergens)),
        carried_over=sorted(set(carried_over)),
        began_at=began_at,
    )
    create(use, by=by, action="took a drink")
    return use


@transaction.atomic
def end_use(use: Use, *, ended_at: datetime, by: Recorder) -> Entry:
    """Remember that the drink is out. Raises ValidationError when it was out before."""
    current = Use.objects.select_for_update().get(pk=use.pk)
    if current.ended_at is not None:
        raise ValidationError(f"{current.drink} was out already.")
    _not_in_future(ended_at, "ended_at")
    if ended_at < current.began_at:
        raise ValidationError({"ended_at": "The drink cannot be out before it was in."})
    return _end(current, use, ended_at, by=by, action="drink out")


@transaction.atomic
def place_keg(*, keg: Keg, place: Place, at: datetime, by: Recorder) -> Placement:
    """Stand a keg in a place from a moment on; where it stood before ends then.

    A keg that stands there already stays as it is. Raises ValidationError for
    a time in the future or before the keg came to where it stands now.
    """
    _same_venue(keg.venue_id, place)
    _not_in_future(at, "at")
    if not place.is_active:
        raise ValidationError({"place": f"{place} is closed. Choose another place."})
    Keg.objects.select_for_update().get(pk=keg.pk)
    before = Placement.objects.filter(keg=keg, ended_at=None).first()
    if before and before.place_id == place.pk:
        return before
    if before and at < before.began_at:
        raise ValidationError({"at": f"{keg} was moved after that. Choose a later time."})
    if before:
        _end(before, before, at, by=by, action="moved away")
    placement = Placement(keg=keg, place=place, began_at=at)
    create(placement, by=by, action="placed")
    return placement


def _end(
    current: Use | Placement, shown: Use | Placement, at: datetime, *, by: Recorder, action: str
) -> Entry:
    current.ended_at = shown.ended_at = at
    current.full_clean()
    current.save(update_fields=["ended_at"])
    return record(current, by=by, action=action)


def _locked_item(keg: Keg | None, line: Line | None) -> Keg | Line:
    if (keg is None) == (line is None):
        raise ValueError("a use is of one keg or of one line")
    item = keg or line
    return type(item).objects.select_for_update().get(pk=item.pk)


def _check_may_hold(item: Keg | Line, began_at: datetime) -> None:
    _not_in_future(began_at, "began_at")
    if item.service != Service.IN_USE:
        raise ValidationError(f"{item} is {item.get_service_display().lower()}.")
    last = item.uses.order_by("-began_at").first()
    if last is None:
        return
    if last.ended_at is None:
        raise ValidationError(f"{item} still holds {last.drink}: empty it first.")
    if began_at < last.ended_at:
        raise ValidationError({"began_at": f"{item} still held {last.drink} at that time."})


def _check_service(item: Keg | Line, service: Service) -> None:
    if item.service == Service.SCRAPPED:
        raise ValidationError({"service": f"{item} was scrapped. Add a new one in its place."})
    if service != Service.SCRAPPED:
        return
    held = item.uses.filter(ended_at=None).first()
    if held:
        raise ValidationError({"service": f"{item} still holds {held.drink}: empty it first."})


def _not_in_future(moment: datetime, field: str) -> None:
    if moment > timezone.now():
        raise ValidationError({field: "This time is still to come. Give a time that has passed."})


def _same_venue(venue_id: int, other: Recorded) -> None:
    if other.venue_id != venue_id:
        raise ValueError(f"{other} belongs to another venue")


def _rounded(changes: Mapping[str, Any], step: Decimal, *names: str) -> dict[str, Any]:
    return {
        name: _to_places(value, step) if name in names else value for name, value in changes.items()
    }


def _to_places(value: Decimal | None, step: Decimal) -> Decimal | None:
    return None if value is None else value.quantize(step)
