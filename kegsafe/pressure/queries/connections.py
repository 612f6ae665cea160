"""The gas system of a venue as it is connected now."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from datetime import datetime

from django.db.models import Q, QuerySet

from kegsafe.equipment.models import Keg, Service
from kegsafe.pressure.models import Connection, Item
from kegsafe.rules.pressure.gas_system import GasSystem, Part
from kegsafe.venues.models import Venue

# What an open connection joins: the source's key, and that of the item or of the keg it feeds.
End = tuple[int, int | None, int | None]


def item_key(pk: int) -> str:
    """Return the key of an item in a gas system."""
    return f"item-{pk}"


def keg_key(pk: int) -> str:
    """Return the key of a keg in a gas system."""
    return f"keg-{pk}"


def open_connections(venue: Venue) -> QuerySet[Connection]:
    """Return what is connected now, by source."""
    return (
        Connection.objects.filter(venue=venue, ended_at=None)
        .select_related("source", "item", "keg")
        .order_by("source__kind", "source__name", "pk")
    )


def in_flow_order(connections: Iterable[Connection]) -> list[tuple[int, Connection]]:
    """Return connections as the gas flows, each with how many stand before it; no query.

    Everything behind a connection follows it at once. A loop, which nothing should be, comes last.
    """
    feeds: dict[int, list[Connection]] = defaultdict(list)
    for each in connections:
        feeds[each.source_id].append(each)
    fed = {each.item_id for behind in feeds.values() for each in behind}
    ordered: dict[int, tuple[int, Connection]] = {}
    waiting = [(0, each) for source in feeds if source not in fed for each in feeds[source]]
    waiting += [(0, each) for source in feeds if source in fed for each in feeds[source]]
    waiting.reverse()
    while waiting:
        depth, each = waiting.pop()
        if each.pk not in ordered:
            ordered[each.pk] = (depth, each)
            waiting += [(depth + 1, next_) for next_ in reversed(feeds.get(each.item_id, ()))]
    return list(ordered.values())


def gas_system(venue: Venue) -> GasSystem:
    """Return every part of a venue and what it feeds: three queries.

    A relief valve fitted to a keg hangs on that keg.
    """
    ends = Connection.objects.filter(venue=venue, ended_at=None).values_list(
        "source", "item", "keg"
    )
    items, kegs = Item.objects.filter(venue=venue), Keg.objects.filter(venue=venue)
    return _assembled(items, kegs, ends)


def ends_around(kegs: Collection[int]) -> list[End]:
    """Return what feeds what now at the venues of these kegs: one query."""
    venues = Keg.objects.filter(pk__in=kegs).values("venue")
    connections = Connection.objects.filter(venue__in=venues, ended_at=None)
    return list(connections.values_list("source", "item", "keg"))


def connected_system(ends: Collection[End]) -> GasSystem:
    """Return the parts that are connected, and the valves on their lids: two queries."""
    items = {pk for source, item, _ in ends for pk in (source, item) if pk is not None}
    kegs = {keg for _, _, keg in ends if keg is not None}
    return _assembled(
        Item.objects.filter(Q(pk__in=items) | Q(keg__in=kegs)),
        Keg.objects.filter(pk__in=kegs),
        ends,
    )


def _assembled(items: QuerySet[Item], kegs: Iterable[Keg], ends: Iterable[End]) -> GasSystem:
    parts, feeds = {}, defaultdict(list)
    items = items.exclude(kind=Item.Kind.MONITOR).exclude(service=Service.SCRAPPED)
    for item in items:
        parts[item_key(item.pk)] = _item_part(item)
        if item.keg_id is not None:
            feeds[keg_key(item.keg_id)].append(item_key(item.pk))
    for keg in kegs:
        parts[keg_key(keg.pk)] = Part(
            keg_key(keg.pk),
            str(keg),
            "keg",
            keg.rated_gauge_pa,
            in_use=keg.service == Service.IN_USE,
        )
    for source, item, keg in ends:
        feeds[item_key(source)].append(item_key(item) if item else keg_key(keg))
    return GasSystem(parts, {key: tuple(fed) for key, fed in feeds.items()})


def kegs_served(cylinder: Item, since: datetime, until: datetime | None = None) -> list[Keg]:
    """Return the kegs that a cylinder's gas reached in a time: the trace forward, by name.

    Walks every connection of the venue that overlaps the time; one query.
    """
    overlaps = Q(ended_at=None) | Q(ended_at__gte=since)
    if until is not None:
        overlaps &= Q(began_at__lte=until)
    fed: dict[str, set[str]] = defaultdict(set)
    kegs: dict[str, Keg] = {}
    rows = Connection.objects.filter(overlaps, venue=cylinder.venue_id).select_related("keg")
    for row in rows:
        key = keg_key(row.keg_id) if row.keg_id else item_key(row.item_id)
        fed[item_key(row.source_id)].add(key)
        if row.keg is not None:
            kegs[key] = row.keg
    reached: set[str] = set()
    waiting = [item_key(cylinder.pk)]
    while waiting:
        new = fed[waiting.pop()] - reached
        reached |= new
        waiting.extend(new)
    served = (keg for key, keg in kegs.items() if key in reached)
    return sorted(served, key=lambda keg: (len(keg.name), keg.name))


def _item_part(item: Item) -> Part:
    return Part(
        item_key(item.pk),
        str(item),
        item.kind,
        item.rated_gauge_pa,
        item.relief_gauge_pa,
        item.inlet_rated_gauge_pa,
        in_use=item.service == Service.IN_USE,
        set_gauge_pa=item.set_gauge_pa,
    )
