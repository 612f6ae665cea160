"""Adding and amending equipment and rooms, and taking equipment out of use."""

from collections.abc import Mapping
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q

from kegsafe.equipment.models import Keg, Service
from kegsafe.ledger.models import Entry
from kegsafe.ledger.services import Recorder, amend, create, take_turn
from kegsafe.pressure.models import Connection, GasRoom, Item, KegPlate
from kegsafe.pressure.queries import open_failures
from kegsafe.pressure.services.moving import refuse_to_move
from kegsafe.pressure.services.places import in_places, require_venue
from kegsafe.pressure.services.set_too_high import record_consequence, set_too_high_over
from kegsafe.venues.models import Venue

_SERVICE_ACTS = {
    Service.IN_USE: "put into use",
    Service.OUT_OF_SERVICE: "taken out of service",
    Service.QUARANTINED: "quarantined",
    Service.SCRAPPED: "scrapped",
}


@transaction.atomic
def add_item(*, venue: Venue, by: Recorder, **values: Any) -> Item:
    """Add a piece of equipment with what its plate says; what is left out is not recorded."""
    require_venue(venue.pk, values.get("room"), values.get("keg"))
    item = Item(venue=venue, **in_places(Item, values))
    create(item, by=by, action="added")
    return item


@transaction.atomic
def amend_item(
    *,
    item: Item,
    changes: Mapping[str, Any],
    reason: str,
    by: Recorder,
    seen_sequence: int | None = None,
    gas_now: str = "",
) -> Entry | None:
    """Change what is known of an item. Its kind stays; service and set pressure have acts of
    their own.

    gas_now : a `GasNow`, what is so with gas that the new figures do not bear.
        Left out where they do not, it is asked for with a ValidationError at `gas_now`.

    Raises ValidationError for another room or keg while gas hangs on the item: what carries
    pressure is disconnected before it is moved.
    """
    forbidden = {"kind", "service", "service_reason", "set_gauge_pa", "venue"} & changes.keys()
    if forbidden:
        raise ValueError(f"not amended here: {', '.join(sorted(forbidden))}")
    require_venue(item.venue_id, changes.get("room"), changes.get("keg"))
    take_turn(by)
    refuse_to_move(item, changes)
    before = set_too_high_over(item)
    rounded = in_places(Item, changes)
    entry = amend(item, rounded, by=by, reason=reason, seen_sequence=seen_sequence)
    record_consequence(item, before, gas_now=gas_now, by=by)
    return entry


@transaction.atomic
def set_item_service(item: Item, *, service: str, reason: str, by: Recorder) -> Entry | None:
    """Take an item out of use, or put it back. The reason is kept.

    Raises ValidationError for a scrapped item, and for one whose last check failed: it
    comes back by a passing check of the same kind, never by word alone.
    """
    current = Item.objects.select_for_update().get(pk=item.pk)
    wanted = Service(service)
    if current.service == Service.SCRAPPED:
        raise ValidationError({"service": f"{item} was scrapped. Add a new one in its place."})
    failed = open_failures(item=current).first() if wanted == Service.IN_USE else None
    if failed is not None:
        raise ValidationError(
            {
                "service": f"It failed: {failed.label}. It comes back by a passing check of "
                "that kind."
            }
        )
    connected = Connection.objects.filter(Q(source=current) | Q(item=current), ended_at=None)
    if wanted == Service.SCRAPPED and connected.exists():
        raise ValidationError({"service": f"{item} is still connected: disconnect it first."})
    changes = {
        "service": wanted,
        "service_reason": "" if wanted == Service.IN_USE else reason.strip(),
    }
    return amend(item, changes, by=by, reason=reason, action=_SERVICE_ACTS[wanted])


@transaction.atomic
def state_plate(*, keg: Keg, values: Mapping[str, Any], reason: str, by: Recorder) -> KegPlate:
    """Record what else a keg's plate says, or change it with a reason."""
    rounded = in_places(KegPlate, values)
    plate = KegPlate.objects.filter(keg=keg).first()
    if plate is None:
        plate = KegPlate(keg=keg, **rounded)
        create(plate, by=by, action="plate read")
    else:
        amend(plate, rounded, by=by, reason=reason)
    return plate


@transaction.atomic
def add_gas_room(*, venue: Venue, by: Recorder, **values: Any) -> GasRoom:
    """Add a room where gas is kept."""
    room = GasRoom(venue=venue, **in_places(GasRoom, values))
    create(room, by=by, action="added")
    return room


@transaction.atomic
def amend_gas_room(
    *,
    room: GasRoom,
    changes: Mapping[str, Any],
    reason: str,
    by: Recorder,
    seen_sequence: int | None = None,
) -> Entry | None:
    """Change what is known of a room."""
    rounded = in_places(GasRoom, changes)
    return amend(room, rounded, by=by, reason=reason, seen_sequence=seen_sequence)
