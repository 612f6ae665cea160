"""What the records of a venue say, as the rules of the self-check read it.

Each part asks the room it belongs to, or its rows by an index: none of it costs more after
ten years of log than after a week.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, time, timedelta
from functools import cached_property
from zoneinfo import ZoneInfo

from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery
from django.urls import reverse

from kegsafe.batches.models import Fill, KegShelfLife
from kegsafe.cleaning.models import Chemical, ChemicalBatch, CorrectiveAction, Cycle, DataSheet
from kegsafe.cleaning.models.equipment import SORTS
from kegsafe.cleaning.queries import DuePiece, due_of
from kegsafe.cold_chain.models import Thermometer, ThermometerCheck
from kegsafe.cold_chain.queries import COLD_KINDS
from kegsafe.cold_chain.queries.standing import Warm, warm_places
from kegsafe.equipment.models import Place, Service
from kegsafe.ledger.models import Chain, Entry
from kegsafe.pour.queries import KegView, open_keg_views
from kegsafe.pressure.queries import DueOn, RegisterRow, dues_in, register
from kegsafe.readiness.days_read import places_read
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

_NAMES_SHOWN = 4

JudgedKeg = tuple[KegView, PourVerdict]


class Records:
    """What the rooms know of a venue at a moment, each part asked for once, when it is wanted.

    Today and the self-check read the same parts: the owner's page asks nothing twice.
    """

    def __init__(self, venue: Venue, now: datetime) -> None:
        self.venue, self.now = venue, now

    @cached_property
    def house(self) -> House:
        return house(self.venue)

    @cached_property
    def kegs(self) -> list[JudgedKeg]:
        """Every keg that holds a drink with its live verdict, by the pour check's queries."""
        views = open_keg_views(self.venue, self.now)
        return [(view, pour_check(view.facts, self.now)) for view in views]

    @cached_property
    def places(self) -> list[Place]:
        return list(
            Place.objects.filter(venue=self.venue, kind__in=COLD_KINDS, is_active=True)
            .select_related("venue")
            .order_by("name")
        )

    @cached_property
    def read(self) -> list[PlaceRead]:
        return places_read(self.venue, self.places, self.now)

    @cached_property
    def warm(self) -> list[Warm]:
        return warm_places(self.places, self.house, self.now)

    @cached_property
    def pieces(self) -> list[DuePiece]:
        """All that is cleaned, the most pressing first."""
        return due_of(self.venue, self.now)

    @cached_property
    def cycles(self) -> list[Cycle]:
        return _unanswered(self.venue, self.now)

    @cached_property
    def held(self) -> list[Held]:
        return [*held_kegs(self.kegs), *_held_lots(self.venue)]

    @cached_property
    def gear(self) -> list[RegisterRow]:
        """The pressure equipment that is in use, with what is due on it."""
        rows = register(self.venue, self.venue.local(self.now).date())
        return [row for row in rows if row.service == Service.IN_USE.value]

    @cached_property
    def gear_due(self) -> list[Item]:
        return list(_gear_due(self.gear, self.venue.zone))

    @cached_property
    def facts(self) -> RecordFacts:
        return _facts(self)


def _facts(known: Records) -> RecordFacts:
    """Return everything the rules of the self-check ask about."""
    venue, now = known.venue, known.now
    lots = _lots_in_stock(venue)
    return RecordFacts(
        house=known.house,
        places=known.read,
        warm_places=[warm_place(each) for each in known.warm],
        late_thermometers=list(_late_thermometers(venue, known.house, now)),
        has_cleaning_plan=bool(known.pieces),
        overdue_cleans=[
            clean_due(piece) for piece in known.pieces if piece.due.status is DueStatus.OVERDUE
        ],
        cycles_unanswered=[failed_clean(each) for each in known.cycles if not each.is_answered],
        actions_unverified=[failed_clean(each) for each in known.cycles if each.has_unverified],
        chemicals_out_of_date=list(_chemicals(venue, now)),
        chemicals_without_sheet=list(_chemicals_without_sheet(venue)),
        lots_without_source=[_lot(lot) for lot in lots if lot.delivery_id is None],
        lots_without_paper=[
            _lot(lot) for lot in lots if lot.delivery_id and not lot.delivery.document.strip()
        ],
        allergens_not_known=list(_allergens_not_known(venue)),
        drinks_past_date=[_past_date(each) for each in known.kegs if is_past_date(each, now)],
        drinks_without_date=[_undated(each) for each in known.kegs if _needs_a_date(each)],
        held=known.held,
        rules_without_approval=list(_unsigned_rules(venue)),
        pressure_due=known.gear_due,
        chain=_chain(venue),
    )


# The drinks


def is_past_date(judged: JudgedKeg, now: datetime) -> bool:
    """Whether a keg's date is over."""
    use_by = judged[1].use_by
    return use_by is not None and now > use_by


def _past_date(judged: JudgedKeg) -> Item:
    view, verdict = judged
    return Item(keg_name(view), verdict.reason, verdict.use_by, keg_address(view))


def held_kegs(kegs: Iterable[JudgedKeg]) -> Iterator[Held]:
    """Yield the kegs on hold with the moment of the hold: one query."""
    held = {
        view.row["fill_id"]: view
        for view, _ in kegs
        if view.row["state"] == Fill.State.ON_HOLD.value
    }
    since = dict(Fill.objects.filter(pk__in=held).values_list("pk", "state_at"))
    for pk, view in held.items():
        yield Held(keg_name(view), view.row["state_reason"], since.get(pk), keg_address(view))


def _needs_a_date(judged: JudgedKeg) -> bool:
    return any(finding.rule == "date_marking.no_date" for finding in judged[1].findings)


def _undated(judged: JudgedKeg) -> Item:
    view, _ = judged
    return Item(keg_name(view), "No date can be given.", view.row["filled_at"], keg_address(view))


def keg_name(view: KegView) -> str:
    """Return a keg with its drink, as lists name it."""
    return f"{view.facts.keg.name}, {view.row['drink']}"


def keg_address(view: KegView) -> str:
    """Return where a keg is judged, held and discarded."""
    return reverse("pour-check", args=[view.row["label_code"]])


def _held_lots(venue: Venue) -> Iterator[Held]:
    """Yield the lots on hold that are not used up; the ledger knows since when: two queries."""
    lots = list(
        Lot.objects.filter(venue=venue, status=Lot.Status.ON_HOLD, amount_left__gt=0)
        .select_related("ingredient")
        .order_by()
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
    """Return the bought lots that are still on the shelf, the oldest first: one query.

    Sorted here: asked for in order, the database would walk every lot there ever was.
    """
    on_shelf = Lot.objects.filter(
        venue=venue,
        status__in=(Lot.Status.ACCEPTED, Lot.Status.ON_HOLD),
        amount_left__gt=0,
        preparation=None,
    ).select_related("ingredient", "delivery", "venue")
    return sorted(on_shelf.order_by(), key=lambda lot: lot.came_into_being_at)


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


def warm_place(warm: Warm) -> Item:
    """Return a place that is too warm, or was, with the form for what was done about it."""
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


def clean_due(piece: DuePiece) -> Item:
    """Return a clean that is due; nobody knows since when where none is on record."""
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


def failed_cycles(venue: Venue, now: datetime) -> QuerySet[Cycle]:
    """Return the failed and unfinished cycles of the last weeks, in no order.

    In order, the database would walk all cycles of those weeks; sort the few that are found.
    """
    since = now - timedelta(days=int(practice("readiness.cycles_looked_back").value))
    return Cycle.objects.filter(
        venue=venue,
        result__in=(Cycle.Result.FAILED, Cycle.Result.INCOMPLETE),
        started_at__gte=since,
        started_at__lte=now,
    ).order_by()


def _unanswered(venue: Venue, now: datetime) -> list[Cycle]:
    """Return those that ask for an action, or for a second person's signature: one query."""
    done = CorrectiveAction.objects.filter(cycle=OuterRef("pk")).order_by()
    found = (
        failed_cycles(venue, now)
        .annotate(is_answered=Exists(done), has_unverified=Exists(done.filter(verified_by="")))
        .filter(Q(is_answered=False) | Q(has_unverified=True))
        .select_related("plan", "venue", *SORTS)
    )
    return sorted(found, key=lambda cycle: cycle.started_at)


def failed_clean(cycle: Cycle) -> Item:
    """Return a clean that failed or was not finished."""
    word = cycle.get_result_display().lower()
    when = at_moment(cycle.started_at, cycle.venue.zone)
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


def _chemicals_without_sheet(venue: Venue) -> Iterator[Item]:
    """Yield the products on the list without a safety data sheet: one query."""
    sheets = DataSheet.objects.filter(chemical=OuterRef("pk"))
    listed = Chemical.objects.filter(~Exists(sheets), venue=venue, is_listed=True)
    for chemical in listed.order_by("name"):
        why = "No safety data sheet is on file."
        yield Item(chemical.name, why, None, reverse("chemicals"))


# Pressure gear and the records themselves


def _gear_due(gear: Iterable[RegisterRow], zone: ZoneInfo) -> Iterator[Item]:
    """Yield what is due, or not known and so treated as due: the same of many things as one."""
    alike: dict[tuple[object, ...], list[DueOn]] = defaultdict(list)
    for each in dues_in(gear):
        due = each.due
        alike[due.label, due.because, due.due_on, due.source, due.verified].append(each)
    for (label, because, due_on, source, verified), found in alike.items():
        things = _listed([each.thing for each in found])
        since = datetime.combine(due_on, time.min, zone) if isinstance(due_on, date) else None
        address = _gear_address(found[0].row) if len(found) == 1 else reverse("pressure")
        title = f"{label}: {things}"
        yield Item(title, str(because), since, address, str(source), str(verified), len(found))


def _listed(names: list[str]) -> str:
    """Return names as a list of a few and a count of the others."""
    shown = ", ".join(names[:_NAMES_SHOWN])
    further = len(names) - _NAMES_SHOWN
    return f"{shown} and {further} more" if further > 0 else shown


def _gear_address(row: RegisterRow) -> str:
    return reverse("pressure-keg" if row.is_keg else "pressure-item", args=[row.pk])


def _chain(venue: Venue) -> readiness.ChainWalk:
    """Return how the last walk along the chain went: two queries."""
    head = Chain.objects.get(pk=venue.chain_id)
    walk = ChainWalk.objects.filter(venue=venue).order_by("-walked_at", "-pk").first()
    if walk is None:
        return readiness.ChainWalk(None, entries_since=head.head_sequence)
    return readiness.ChainWalk(
        walk.walked_at,
        f"Entry {walk.fault_at}: {walk.fault}" if walk.fault else "",
        max(0, head.head_sequence - walk.entries - 1),  # the walk's own entry is none of them
    )
