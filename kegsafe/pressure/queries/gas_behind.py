"""Which gas touched a drink: the lots in the cylinders that a keg hung on, and when.

Gas is a food: it has a supplier and a lot, and a trace from a glass reaches it like any other.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q

from kegsafe.equipment.models import Keg
from kegsafe.pressure.models import Connection, Document, GasFill, Item


@dataclass(frozen=True, slots=True)
class OnGas:
    """A time in which a keg held a drink. `until` None: it still does. `key` is the asker's."""

    key: int
    keg: int
    since: datetime
    until: datetime | None


@dataclass(frozen=True, slots=True)
class GasBehind:
    """One charge of a cylinder whose gas reached a drink, from then to then.

    `cylinder` is its key, `lot` and all that follows '' where nobody recorded what is in the
    cylinder. `certificate` is what was typed when the gas came; `documents` are the files kept
    with the cylinder, by key and name. `reached_until` None: it still hangs on it.
    """

    cylinder: int
    cylinder_name: str
    cylinder_serial: str
    gas_fill: int | None
    lot: str
    supplier: str
    registration: str
    grade: str
    certificate: str
    received_at: datetime | None
    reached_since: datetime
    reached_until: datetime | None
    documents: tuple[tuple[int, str], ...]

    def reached_at(self, moment: datetime) -> bool:
        """Say whether its gas was on the keg at a moment."""
        ended = self.reached_until is None or moment <= self.reached_until
        return self.reached_since <= moment and ended


def gas_reaching(spells: Iterable[OnGas]) -> dict[int, tuple[GasBehind, ...]]:
    """Return the gas behind each spell by its key, the first to reach it first: four queries.

    A path counts where all of its connections stood at once, from cylinder to keg. A spell
    in which nothing was connected, as far as is recorded, gives an empty tuple.
    """
    wanted = list(spells)
    feeds = _feeds(wanted)
    reached = {spell.key: list(_cylinders(spell, feeds)) for spell in wanted}
    keys = {found.node for each in reached.values() for found in each}
    charges, papers = _charges(keys), _papers(keys)
    cylinders = Item.objects.filter(kind=Item.Kind.CYLINDER).in_bulk(keys)
    return {
        key: tuple(
            dict.fromkeys(
                gas
                for found in sorted(each, key=lambda found: found.since)
                if found.node in cylinders
                for gas in _lots(cylinders[found.node], found, charges, papers)
            )
        )
        for key, each in reached.items()
    }


@dataclass(frozen=True, slots=True)
class _Reach:
    """An item whose gas reached a keg, from then to then."""

    node: int
    since: datetime
    until: datetime | None


_Feeds = Mapping[tuple[str, int], list[_Reach]]


def _feeds(spells: list[OnGas]) -> _Feeds:
    """Return what fed each item and keg, at the venues of these kegs, since the first spell."""
    feeds: dict[tuple[str, int], list[_Reach]] = defaultdict(list)
    if not spells:
        return feeds
    venues = Keg.objects.filter(pk__in={spell.keg for spell in spells}).values("venue")
    first = min(spell.since for spell in spells)
    rows = Connection.objects.filter(
        Q(ended_at=None) | Q(ended_at__gte=first), venue__in=venues
    ).values_list("source", "item", "keg", "began_at", "ended_at")
    for source, item, keg, began_at, ended_at in rows:
        fed = ("keg", keg) if keg is not None else ("item", item)
        feeds[fed].append(_Reach(source, began_at, ended_at))
    return feeds


def _cylinders(spell: OnGas, feeds: _Feeds) -> Iterator[_Reach]:
    """Walk up from a keg, keeping the time in which the whole path stood. A loop ends."""
    waiting = [(("keg", spell.keg), spell.since, spell.until, frozenset[int]())]
    while waiting:
        fed, since, until, passed = waiting.pop()
        for feed in feeds.get(fed, ()):
            began, ended = max(since, feed.since), _earlier(until, feed.until)
            if feed.node in passed or (ended is not None and ended < began):
                continue
            yield _Reach(feed.node, began, ended)
            waiting.append((("item", feed.node), began, ended, passed | {feed.node}))


def _earlier(one: datetime | None, other: datetime | None) -> datetime | None:
    if one is None or other is None:
        return one or other
    return min(one, other)


def _charges(cylinders: set[int]) -> dict[int, list[GasFill]]:
    found = defaultdict(list)
    for fill in GasFill.objects.filter(item__in=cylinders).order_by("received_at", "pk"):
        found[fill.item_id].append(fill)
    return found


def _papers(cylinders: set[int]) -> dict[int, tuple[tuple[int, str], ...]]:
    found: dict[int, tuple[tuple[int, str], ...]] = defaultdict(tuple)
    rows = Document.objects.filter(item__in=cylinders, kind=Document.Kind.CERTIFICATE)
    for key, item, name in rows.order_by("pk").values_list("pk", "item", "name"):
        found[item] += ((key, name),)
    return found


def _lots(
    cylinder: Item,
    reach: _Reach,
    charges: Mapping[int, list[GasFill]],
    papers: Mapping[int, tuple[tuple[int, str], ...]],
) -> Iterator[GasBehind]:
    """Yield what was in a cylinder when it began to feed, and what came into it meanwhile."""
    came = charges.get(cylinder.pk, [])
    before = [fill for fill in came if fill.received_at <= reach.since]
    later = [
        fill
        for fill in came
        if fill.received_at > reach.since
        and (reach.until is None or fill.received_at <= reach.until)
    ]
    for fill in (before[-1] if before else None, *later):
        yield GasBehind(
            cylinder=cylinder.pk,
            cylinder_name=str(cylinder),
            cylinder_serial=cylinder.serial,
            gas_fill=fill.pk if fill else None,
            lot=fill.lot if fill else "",
            supplier=fill.supplier if fill else "",
            registration=fill.registration if fill else "",
            grade=fill.grade if fill else "",
            certificate=fill.certificate if fill else "",
            received_at=fill.received_at if fill else None,
            reached_since=max(reach.since, fill.received_at) if fill else reach.since,
            reached_until=reach.until,
            documents=papers.get(cylinder.pk, ()),
        )
