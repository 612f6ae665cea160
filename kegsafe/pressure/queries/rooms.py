"""The rooms with gas: what is kept there, and what happens if it gets out."""

from django.db.models import Prefetch, QuerySet

from kegsafe.equipment.models import Service
from kegsafe.pressure.models import GasRoom, Item
from kegsafe.pressure.queries.facts import regime_key
from kegsafe.rules.pressure.room import Monitor, RoomFacts, RoomVerdict, judge_room
from kegsafe.venues.models import Venue


def rooms_with_facts(venue: Venue) -> QuerySet[GasRoom]:
    """Return a venue's rooms with what stands in them: two queries."""
    items = Item.objects.exclude(service=Service.SCRAPPED).order_by("kind", "name")
    return GasRoom.objects.filter(venue=venue).prefetch_related(Prefetch("items", queryset=items))


def verdicts_of(venue: Venue) -> list[tuple[GasRoom, RoomVerdict]]:
    """Return every room with its screening figure: two queries."""
    regime = regime_key(venue)
    return [(room, judge_room(room_facts(room), regime)) for room in rooms_with_facts(venue)]


def room_facts(room: GasRoom) -> RoomFacts:
    """Return what the rule of rooms is told; the room comes from `rooms_with_facts`."""
    items = room.items.all()
    return RoomFacts(
        name=room.name,
        volume_m3=_as_float(room.volume_m3),
        air_changes_per_h=_as_float(room.air_changes_per_h),
        is_below_ground=room.is_below_ground,
        charges_kg=tuple(
            None if item.charge_g is None else float(item.charge_g) / 1000
            for item in items
            if item.kind == Item.Kind.CYLINDER
        ),
        monitors=tuple(
            Monitor(
                str(item),
                item.service == Service.IN_USE,
                item.first_alarm_ppm,
                item.main_alarm_ppm,
            )
            for item in items
            if item.kind == Item.Kind.MONITOR
        ),
    )


def _as_float(value: object) -> float | None:
    return None if value is None else float(value)
