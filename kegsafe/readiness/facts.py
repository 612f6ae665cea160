"""What the records of a venue say, as the rules of the self-check read it.

Each part asks the room it belongs to, or its rows by an index: none of it costs more after
ten years of log than after a week.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db import connection
from django.db.models import Exists, OuterRef, Q, Subquery
from django.urls import reverse

from kegsafe.batches.models import Fill, KegShelfLife
from kegsafe.cleaning.models import ChemicalBatch, CorrectiveAction, Cycle
from kegsafe.cleaning.models.equipment import SORTS
from kegsafe.cleaning.queries import DuePiece, due_of
from kegsafe.cold_chain.models import LoggedReading, Thermometer, ThermometerCheck
from kegsafe.cold_chain.queries import COLD_KINDS
from kegsafe.cold_chain.queries.standing import Warm, warm_places
from kegsafe.equipment.models import Place, Service
from kegsafe.ledger.models import Chain, Entry
from kegsafe.pour.queries import KegView, open_keg_views
from kegsafe.pressure.queries import RegisterRow, register
from kegsafe.readiness.models import ChainWalk
from kegsafe.rules import readiness
from kegsafe.rules.cleaning.due import DueStatus
from kegsafe.rules.cold.thermometers import standing, tolerance
from kegsafe.rules.facts import Basis, House
from kegsafe.rules.moments import at_moment, on_day
from kegsafe.rules.pour_check import PourVerdict, pour_check
from kegsafe.rules.practice import practice
from kegsafe.rules.readiness import Held, Item, PlaceRead, RecordFacts
from kegsafe.stock.facts import house
from kegsafe.stock.models import Ingredient, IngredientAllergen, IngredientShelfLife, Lot
from kegsafe.venues.models import Venue

_CHECKS_READ = 5  # the newest of a thermometer: one that shows nothing is passed over
_READINGS = LoggedReading._meta.db_table
_PLACES = Place._meta.db_table

JudgedKeg = tuple[KegView, PourVerdict]


def judged_kegs(venue: Venue, now: datetime) -> list[JudgedKeg]:
    """Return every keg that holds a drink with its live verdict, by the pour check's queries."""
    return [(view, pour_check(view.facts, now)) for view in open_keg_views(venue)]


def record_facts(venue: Venue, now: datetime) -> RecordFacts:
    """Return everything the rules of the self-check ask about."""
    at_venue = house(venue)
    kegs = judged_kegs(venue, now)
    places = list(Place.objects.filter(venue=venue, kind__in=COLD_KINDS, is_active=True))
    cycles = _unanswered(venue, now)
    lots = _lots_in_stock(venue)
    return RecordFacts(
        house=at_venue,
        places=places_read(venue, places, now),
        warm_places=[_warm(each, now) for each in warm_places(places, at_venue, now)],
        late_thermometers=list(_late_thermometers(venue, at_venue, now)),
        overdue_cleans=[
            overdue_clean(piece)
            for piece in due_of(venue, now)
            if piece.due.status is DueStatus.OVERDUE
        ],
        cycles_unanswered=[_cycle(each) for each in cycles if not each.is_answered],
        actions_unverified=[_cycle(each) for each in cycles if each.has_unverified],
        chemicals_out_of_date=list(_chemicals(venue, now)),
        lots_without_source=[_lot(lot) for lot in lots if lot.delivery_id is None],
        lots_without_paper=[
            _lot(lot) for lot in lots if lot.delivery_id and not lot.delivery.document.strip()
        ],
        allergens_not_known=list(_allergens_not_known(venue)),
        drinks_past_date=[past_date(each, now) for each in kegs if is_past_date(each, now)],
        drinks_without_date=[_undated(each) for each in kegs if _needs_a_date(each)],
        held=[*held_kegs(kegs, venue), *_held_lots(venue)],
        rules_without_approval=list(_unsigned_rules(venue)),
        pressure_due=list(pressure_due(register(venue, venue.local(now).date()))),
        chain=_chain(venue),
    )


# The drinks


def is_past_date(judged: JudgedKeg, now: datetime) -> bool:
    """Whether a keg's date is over."""
    use_by = judged[1].use_by
    return use_by is not None and now > use_by


def past_date(judged: JudgedKeg, now: datetime) -> Item:
    """Return a keg that is past its date."""
    view, verdict = judged
    return Item(_keg_name(view), verdict.reason, verdict.use_by, _keg_address(view))


def held_kegs(kegs: Iterable[JudgedKeg], venue: Venue) -> Iterator[Held]:
    """Yield the kegs on hold with the moment of the hold: one query."""
    held = {
        view.row["fill_id"]: view
        for view, _ in kegs
        if view.row["state"] == Fill.State.ON_HOLD.value
    }
    since = dict(Fill.objects.filter(pk__in=held).values_list("pk", "state_at"))
    for pk, view in held.items():
        yield Held(_keg_name(view), view.row["state_reason"], since.get(pk), _keg_address(view))


def _needs_a_date(judged: JudgedKeg) -> bool:
    return any(finding.rule == "date_marking.no_date" for finding in judged[1].findings)


def _undated(judged: JudgedKeg) -> Item:
    view, _ = judged
    return Item(_keg_name(view), "No date can be given.", view.row["filled_at"], _keg_address(view))


def _keg_name(view: KegView) -> str:
    return f"{view.facts.keg.name}, {view.row['drink']}"


def _keg_address(view: KegView) -> str:
    return reverse("pour-check", args=[view.row["label_code"]])


def _held_lots(venue: Venue) -> Iterator[Held]:
    """Yield the lots on hold that are not used up; the ledger knows since when: two queries."""
    lots = list(
        Lot.objects.filter(
            venue=venue, status=Lot.Status.ON_HOLD, amount_left__gt=0
        ).select_related("ingredient")
    )
    entries = Entry.objects.filter(
        subject__in=[lot.ledger_subject for lot in lots], action="put on hold"
    ).order_by("sequence")
    since = dict(entries.values_list("subject", "recorded_at_us"))
    for lot in lots:
        at_us = since.get(lot.ledger_subject)
        at = None if at_us is None else datetime.fromtimestamp(at_us / 1_000_000, tz=UTC)
        yield Held(str(lot), lot.status_reason, at, lot.get_absolute_url())


def _unsigned_rules(venue: Venue) -> Iterator[Item]:
    """Yield the house rules in force that name nobody, or no day: two queries."""
    unsigned = Q(approved_by="") | Q(approved_on=None)
    in_force = {"basis": Basis.HOUSE_RULE.value, "withdrawn_at": None}
    of_drinks = KegShelfLife.objects.filter(
        unsigned, recipe__venue=venue, recipe__is_active=True, **in_force
    ).select_related("recipe")
    for life in of_drinks:
        yield Item(str(life), "Approved by nobody.", None, life.recipe.get_absolute_url())
    of_ingredients = IngredientShelfLife.objects.filter(
        unsigned, ingredient__venue=venue, ingredient__is_active=True, **in_force
    ).select_related("ingredient")
    for life in of_ingredients:
        yield Item(str(life), "Approved by nobody.", None, life.ingredient.get_absolute_url())


# What comes in


def _lots_in_stock(venue: Venue) -> list[Lot]:
    """Return the bought lots that are still on the shelf: one query."""
    on_shelf = Lot.objects.filter(
        venue=venue,
        status__in=(Lot.Status.ACCEPTED, Lot.Status.ON_HOLD),
        amount_left__gt=0,
        preparation=None,
    )
    return list(on_shelf.select_related("ingredient", "delivery").order_by("came_into_being_at"))


def _lot(lot: Lot) -> Item:
    came = f"Came in on {on_day(lot.venue.local(lot.came_into_being_at).date())}."
    return Item(str(lot), came, lot.came_into_being_at, lot.get_absolute_url())


def _allergens_not_known(venue: Venue) -> Iterator[Item]:
    """Yield the ingredients whose list was read from nothing, or that state a source unknown."""
    stated = IngredientAllergen.objects.filter(
        ingredient=OuterRef("pk"), statement=IngredientAllergen.Statement.NOT_KNOWN
    )
    concerned = Ingredient.objects.filter(venue=venue, is_active=True).filter(
        Q(allergen_list_basis="", made_in_house=False) | Exists(stated)
    )
    for ingredient in concerned.order_by("name"):
        why = "A source is stated as not known."
        if not ingredient.allergen_list_basis and not ingredient.made_in_house:
            why = "Its list was read from no label."
        yield Item(ingredient.name, why, None, ingredient.get_absolute_url())


# The cold


def places_read(venue: Venue, places: Iterable[Place], now: datetime) -> list[PlaceRead]:
    """Return on which whole days of the last weeks each place was not read: two queries.

    A day is one of the venue; today is not over and is left out.
    """
    known = list(places)
    today = venue.local(now).date()
    back = int(practice("readiness.days_read_back").value)
    days = [today - timedelta(days=ago) for ago in range(back, 0, -1)]
    ends = _first_and_last(known)
    missed = _days_missed(known, days, venue.zone)
    return [_place_read(place, ends.get(place.pk), missed[place.pk], days) for place in known]


def _place_read(
    place: Place, ends: tuple[datetime, datetime] | None, missed: list[date], days: list[date]
) -> PlaceRead:
    address = reverse("cold-place", args=[place.pk])
    if ends is None:
        return PlaceRead(place.name, None, (), 0, address)
    first, last = ends
    begun = first.astimezone(place.venue.zone).date()
    counted = tuple(day for day in missed if day >= begun)
    looked_at = sum(1 for day in days if day >= begun)
    return PlaceRead(place.name, last, counted, looked_at, address)


def _first_and_last(places: list[Place]) -> dict[int, tuple[datetime, datetime]]:
    """Return when each place was read first and last: two steps into the index for each."""
    if not places:
        return {}
    given = ", ".join(["%s"] * len(places))
    sql = f"""
        SELECT id, (SELECT MIN(at_s) FROM {_READINGS} WHERE place_id = {_PLACES}.id),
            (SELECT MAX(at_s) FROM {_READINGS} WHERE place_id = {_PLACES}.id)
        FROM {_PLACES} WHERE id IN ({given})
    """  # noqa: S608 - names of our own tables
    with connection.cursor() as cursor:
        cursor.execute(sql, [place.pk for place in places])
        return {
            pk: (datetime.fromtimestamp(first, tz=UTC), datetime.fromtimestamp(last, tz=UTC))
            for pk, first, last in cursor.fetchall()
            if first is not None
        }


def _days_missed(places: list[Place], days: list[date], zone: ZoneInfo) -> dict[int, list[date]]:
    """Return the days without a reading: one step into the index for each place and day."""
    missed: dict[int, list[date]] = defaultdict(list)
    if not places:
        return missed
    given = ", ".join(["%s"] * len(places))
    stretches = ", ".join(["(%s, %s, %s)"] * len(days))
    sql = f"""
        WITH days (day, from_s, until_s) AS (VALUES {stretches})
        SELECT place.id, days.day FROM {_PLACES} AS place, days
        WHERE place.id IN ({given}) AND NOT EXISTS (
            SELECT 1 FROM {_READINGS} AS reading WHERE reading.place_id = place.id
                AND reading.at_s >= days.from_s AND reading.at_s < days.until_s)
        ORDER BY 1, 2
    """  # noqa: S608 - names of our own tables
    bounds = [
        value
        for number, day in enumerate(days)
        for value in (number, _begins(day, zone), _begins(day + timedelta(days=1), zone))
    ]
    with connection.cursor() as cursor:
        cursor.execute(sql, [*bounds, *(place.pk for place in places)])
        for pk, number in cursor.fetchall():
            missed[pk].append(days[number])
    return missed


def _begins(day: date, zone: ZoneInfo) -> int:
    return int(datetime.combine(day, time.min, zone).timestamp())


def _warm(warm: Warm, now: datetime) -> Item:
    began = datetime.fromtimestamp(warm.excursion.from_s, tz=UTC)
    address = reverse("cold-action", args=[warm.place.pk, warm.excursion.from_s])
    why = "It is above its limit now." if warm.excursion.is_open else "It was above its limit."
    if not warm.actions:
        why = f"{why} Nobody has said what was done."
    return Item(warm.place.name, why, began, address)


def _late_thermometers(venue: Venue, at_venue: House, now: datetime) -> Iterator[Item]:
    """Yield the thermometers that are not believed, from their newest checks: two queries."""
    newest = ThermometerCheck.objects.filter(thermometer=OuterRef("pk")).order_by("-checked_at")
    ranked = [Subquery(newest.values("pk")[number : number + 1]) for number in range(_CHECKS_READ)]
    found = Thermometer.objects.filter(venue=venue, is_active=True).annotate(
        **{f"check_{number}": pk for number, pk in enumerate(ranked)}
    )
    thermometers = list(found)
    keys = [
        getattr(each, f"check_{number}") for each in thermometers for number in range(_CHECKS_READ)
    ]
    checks = defaultdict(list)
    for check in ThermometerCheck.objects.filter(pk__in=[key for key in keys if key]):
        checks[check.thermometer_id].append(check.as_fact())
    on = venue.local(now).date()
    for each in thermometers:
        stands = standing(checks[each.pk], now, tolerance(at_venue, on, is_air=each.is_air))
        if not stands.is_believed:
            address = reverse("thermometer", args=[each.pk])
            why = stands.findings[0].statement
            yield Item(each.name, why, stands.due_at or stands.last_good_at, address)


# Cleaning


def overdue_clean(piece: DuePiece) -> Item:
    """Return a piece whose clean is overdue; nobody knows since when where none is on record."""
    never = any(reason.rule == "cleaning.never" for reason in piece.due.reasons)
    address = f"{reverse('cycle-start')}?piece={piece.key}&plan={piece.plan.pk}"
    first = piece.due.reasons[0]
    return Item(
        f"{piece.name}, {piece.plan.name}",
        piece.due.reason,
        None if never else piece.due.due_at,
        address,
        first.source,
        first.verified,
    )


def _unanswered(venue: Venue, now: datetime) -> list[Cycle]:
    """Return the failed and unfinished cycles of the last weeks that ask for something."""
    since = now - timedelta(days=int(practice("readiness.cycles_looked_back").value))
    done = CorrectiveAction.objects.filter(cycle=OuterRef("pk"))
    found = (
        Cycle.objects.filter(
            venue=venue,
            result__in=(Cycle.Result.FAILED, Cycle.Result.INCOMPLETE),
            started_at__gte=since,
            started_at__lte=now,
        )
        .annotate(is_answered=Exists(done), has_unverified=Exists(done.filter(verified_by="")))
        .filter(Q(is_answered=False) | Q(has_unverified=True))
    )
    return list(found.select_related("plan", *SORTS).order_by("started_at"))


def _cycle(cycle: Cycle) -> Item:
    word = cycle.get_result_display().lower()
    when = at_moment(cycle.started_at, cycle.plan.venue.zone)
    address = reverse("cycle", args=[cycle.pk])
    return Item(f"{cycle.piece}, {cycle.plan.name}", f"{when}: {word}.", cycle.started_at, address)


def _chemicals(venue: Venue, now: datetime) -> Iterator[Item]:
    """Yield the batches in the cupboard that are past their date or have none: one query."""
    today = venue.local(now).date()
    in_cupboard = ChemicalBatch.objects.filter(
        Q(expires_on__lt=today) | Q(expires_on=None, does_not_expire=False),
        chemical__venue=venue,
        chemical__is_listed=True,
        is_finished=False,
    )
    for batch in in_cupboard.select_related("chemical").order_by("chemical__name", "pk"):
        why, since = "No expiry is on record.", None
        if batch.expires_on is not None:
            why = f"Expired {on_day(batch.expires_on)}."
            since = datetime.combine(batch.expires_on + timedelta(days=1), time.min, venue.zone)
        yield Item(str(batch), why, since, reverse("chemicals"))


# Pressure gear and the records themselves


def pressure_due(rows: Iterable[RegisterRow]) -> Iterator[Item]:
    """Yield what is due, or not known and so treated as due, on gear that is in use."""
    for row in rows:
        if row.service != Service.IN_USE.value:
            continue
        name = "pressure-keg" if row.is_keg else "pressure-item"
        for due in row.asking:
            address = reverse(name, args=[row.pk])
            title = f"{row.kind_label} {row.name}: {due.label}"
            yield Item(title, due.because, None, address, due.source, due.verified)


def _chain(venue: Venue) -> readiness.ChainWalk:
    """Return how the last walk along the chain went: two queries."""
    head = Chain.objects.get(pk=venue.chain_id)
    walk = ChainWalk.objects.filter(venue=venue).order_by("-walked_at", "-pk").first()
    if walk is None:
        return readiness.ChainWalk(None, entries_since=head.head_sequence)
    return readiness.ChainWalk(
        walk.walked_at,
        f"Entry {walk.fault_at}: {walk.fault}" if walk.fault else "",
        head.head_sequence - walk.entries,
    )
