"""What is due for cleaning at a venue, worked out from the records by a fixed number of queries."""

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Model, OuterRef, QuerySet, Subquery

from kegsafe.cleaning.models import (
    CleaningPlan,
    CleaningRecord,
    CleanItem,
    DrinkCarried,
    LatestCycles,
)
from kegsafe.cleaning.models.equipment import equipment_of, sort_of
from kegsafe.equipment.models import Keg, Line, Placement, Service, Tap, Use
from kegsafe.equipment.queries import AS_COUNTED
from kegsafe.rules.cleaning.cycle import CycleResult
from kegsafe.rules.cleaning.due import (
    CycleHistory,
    Due,
    DueStatus,
    ItemFacts,
    due,
    plans_with_laws,
)
from kegsafe.rules.cleaning.intervals import Every, Interval
from kegsafe.rules.cleaning.plans import Plan
from kegsafe.rules.cleaning.vocabulary import DrinkKind, Equipment
from kegsafe.venues.models import Venue

_ORDER = {status: place for place, status in enumerate(DueStatus)}


@dataclass(frozen=True, slots=True)
class DuePiece:
    """One piece of equipment under one of the venue's plans, and when it is next due."""

    piece: Model
    key: str
    equipment: Equipment
    place: str
    plan: CleaningPlan
    due: Due

    @property
    def name(self) -> str:
        return str(self.piece)


def due_of(venue: Venue, now: datetime, *, only: Collection[str] | None = None) -> list[DuePiece]:
    """Return what is due and when, the most pressing first, by eleven queries.

    `only` narrows to the pieces of these keys, such as 'line-12'. A plan that waits for an event
    which did not happen is left out. The law of the venue's region is held against the plan that
    a piece is cleaned by most often: the stricter of the two says when.
    """
    plans = {
        plan: plan.as_rules()
        for plan in CleaningPlan.objects.filter(venue=venue, replaced_on=None).order_by("name")
    }
    memory = _Memory(venue, now)
    found = [
        piece_due for piece in _pieces(venue, only) for piece_due in memory.due_for(piece, plans)
    ]
    return sorted(found, key=_most_pressing_first)


class _Memory:
    """What the records say of every piece of a venue, read once."""

    def __init__(self, venue: Venue, now: datetime) -> None:
        self.now, self.zone, self.region = now, venue.zone, venue.region
        self.latest = _latest(venue)
        self.drinks = _drinks(venue)
        self.uses: dict[str, Use] = _last_uses(venue)
        self.noted = _last_noted(venue)
        self.places = _places(venue)
        self.allergen_cleans = _allergen_cleans(self.latest.values())

    def due_for(self, piece: Model, plans: Mapping[CleaningPlan, Plan]) -> Iterator[DuePiece]:
        """Yield when a piece is due under each plan that is for it."""
        key, equipment = piece_key(piece), equipment_of(piece)
        drink = self._drink(piece, key)
        for plan, rules, laws in plans_with_laws(plans, equipment, drink, self.region):
            latest = self.latest.get((key, plan.family))
            facts = self._facts(piece, key, equipment, latest)
            history = _history(latest, self.noted.get(key))
            when = due(facts, rules, history, self.now, self.zone, laws)
            if not _waits_for_an_event((*rules.intervals, *laws), when):
                yield DuePiece(piece, key, equipment, self._place(piece, key), plan, when)

    def _drink(self, piece: Model, key: str) -> DrinkKind:
        if isinstance(piece, CleanItem):
            return DrinkKind(piece.drink_kind)
        if isinstance(piece, Tap) and key not in self.drinks:
            key = f"line-{piece.line_id}"
        return self.drinks.get(key, DrinkKind.ANY)

    def _place(self, piece: Model, key: str) -> str:
        if isinstance(piece, CleanItem):
            return piece.place.name if piece.place else ""
        return self.places.get(key, "")

    def _facts(
        self, piece: Model, key: str, equipment: Equipment, latest: LatestCycles | None
    ) -> ItemFacts:
        """Return how a piece stands. A tap was used when its line was."""
        use_key = f"line-{piece.line_id}" if isinstance(piece, Tap) else key
        use = self.uses.get(use_key)
        if use is None:
            unused = None if isinstance(piece, CleanItem) else False
            return ItemFacts(name=str(piece), equipment=equipment, was_used_since_clean=unused)
        is_on = use.ended_at is None
        good = latest.last_good if latest else None
        cleaned_since = use.ended_at is not None and good is not None
        used_since = not (cleaned_since and good.ended_at >= use.ended_at)
        return ItemFacts(
            name=str(piece),
            equipment=equipment,
            holds_a_drink=is_on,
            last_used_at=use.ended_at,
            was_used_since_clean=used_since,
            fills_since_clean=None if used_since else 0,
            left=self._left(use, key) if is_on else frozenset(),
            next_sources=frozenset(use.allergens) if is_on else None,
        )

    def _left(self, use: Use, key: str) -> frozenset[str]:
        """Return what earlier drinks left under the present one, unless cleaned out since."""
        cleaned_at = self.allergen_cleans.get(key)
        if cleaned_at is not None and cleaned_at >= use.began_at:
            return frozenset()
        return frozenset(use.carried_over)


def piece_key(piece: Model) -> str:
    """Return how forms and addresses name a piece: 'line-12'."""
    return f"{sort_of(piece)}-{piece.pk}"


def pieces_of(venue: Venue) -> list[Model]:
    """Return all that is cleaned at a venue and not scrapped or put away, by four queries."""
    return list(_pieces(venue, None))


def _pieces(venue: Venue, only: Collection[str] | None) -> Iterable[Model]:
    in_service = {"venue": venue}
    for queryset in (
        Line.objects.filter(**in_service).exclude(service=Service.SCRAPPED).order_by(*AS_COUNTED),
        Tap.objects.filter(**in_service, is_active=True).order_by(*AS_COUNTED),
        Keg.objects.filter(**in_service).exclude(service=Service.SCRAPPED).order_by(*AS_COUNTED),
        CleanItem.objects.filter(**in_service, is_active=True).select_related("place"),
    ):
        yield from _narrowed(queryset, only)


def _narrowed(queryset: QuerySet, only: Collection[str] | None) -> QuerySet:
    if only is None:
        return queryset
    prefix = f"{sort_of(queryset.model())}-"
    keys = [int(key.removeprefix(prefix)) for key in only if key.startswith(prefix)]
    return queryset.filter(pk__in=keys) if keys else queryset.none()


def _latest(venue: Venue) -> dict[tuple[str, UUID], LatestCycles]:
    rows = LatestCycles.objects.filter(venue=venue).select_related(
        "last", "last_good", "last_good__plan"
    )
    return {(row.piece_key, row.family): row for row in rows}


def _history(latest: LatestCycles | None, noted_at: datetime | None) -> CycleHistory:
    if latest is None:
        return CycleHistory(None, noted_at=noted_at)
    good, last = latest.last_good, latest.last
    known = {result.value: result for result in CycleResult}
    return CycleHistory(
        last_good_at=good.ended_at if good else None,
        last_at=last.ended_at,
        # A cycle that was given up was not finished on record either.
        last_result=known.get(last.result, CycleResult.INCOMPLETE),
        noted_at=noted_at,
    )


def _allergen_cleans(rows: Iterable[LatestCycles]) -> dict[str, datetime]:
    return {
        row.piece_key: row.last_good.ended_at
        for row in rows
        if row.last_good is not None and row.last_good.plan.is_allergen_clean
    }


def _drinks(venue: Venue) -> dict[str, DrinkKind]:
    """Return the kind of drink that was said last of each piece."""
    said = DrinkCarried.objects.filter(venue=venue).order_by("pk")
    return {each.piece_key: DrinkKind(each.drink_kind) for each in said}


def _last_uses(venue: Venue) -> dict[str, Use]:
    """Return the last use of each keg and each line, by two queries."""
    uses: dict[str, Use] = {}
    for sort, model in (("keg", Keg), ("line", Line)):
        newest = Use.objects.filter(**{sort: OuterRef("pk")}).order_by("-began_at", "-pk")
        last = model.objects.filter(venue=venue).values(use=Subquery(newest.values("pk")[:1]))
        for use in Use.objects.filter(pk__in=last):
            uses[f"{sort}-{getattr(use, f'{sort}_id')}"] = use
    return uses


def _last_noted(venue: Venue) -> dict[str, datetime]:
    """Return when a keg or line was last cleaned without a plan, if nothing came after it.

    Two queries that read the newest record of each, whatever the age of the log.
    """
    noted: dict[str, datetime] = {}
    for sort, model in (("keg", Keg), ("line", Line)):
        newest = CleaningRecord.objects.filter(**{sort: OuterRef("pk")}).order_by("-cleaned_at")
        last = model.objects.filter(venue=venue).values(record=Subquery(newest.values("pk")[:1]))
        plain = CleaningRecord.objects.filter(pk__in=last, cycle=None)
        for pk, cleaned_at in plain.values_list(f"{sort}_id", "cleaned_at"):
            noted[f"{sort}-{pk}"] = cleaned_at
    return noted


def _places(venue: Venue) -> Mapping[str, str]:
    standing = Placement.objects.filter(keg__venue=venue, ended_at=None)
    return {f"keg-{keg}": place for keg, place in standing.values_list("keg_id", "place__name")}


def _waits_for_an_event(intervals: Collection[Interval], when: Due) -> bool:
    """Whether a clean is owed at an event alone, and none has come: nothing is due then."""
    if any(interval.unit is not Every.ALLERGEN_CHANGE for interval in intervals):
        return False
    events = {interval.rule for interval in intervals}
    return not any(reason.rule in events for reason in when.reasons)


def _most_pressing_first(piece: DuePiece) -> tuple[int, float, str]:
    at = piece.due.due_at
    return _ORDER[piece.due.status], at.timestamp() if at else 0.0, piece.name
