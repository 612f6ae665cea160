"""Everything that bears on 'may I pour this keg?', in six queries.

The number is the same for one keg and for all of them, in the first week and
after ten years: the kegs with what they hold, where they stand, when line and keg
were cleaned and what limits the venue set itself; the lots behind them, those
lots' facts, the allergens, the shelf lives, and the temperatures of every place
the drinks stood in. Only while a line is being cleaned or a piece of pressure
equipment is out of order are there more: one for the lines, four for the gear.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from django.db.models import (
    BooleanField,
    Exists,
    ExpressionWrapper,
    F,
    FilteredRelation,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Value,
)
from django.utils import timezone

from kegsafe.batches.facts import first_known
from kegsafe.batches.models import Fill, KegShelfLife
from kegsafe.batches.queries import Behind, behind_batches
from kegsafe.cleaning.models import CleaningRecord
from kegsafe.cleaning.queries import line_states, speaking_events
from kegsafe.cleaning.queries.for_pour import CLEANING_COLUMNS, cleaning_columns, overdue
from kegsafe.cold_chain.queries import DrinkInKeg, histories_of
from kegsafe.equipment.models import Keg, Place, Service, Use
from kegsafe.equipment.queries import AS_COUNTED
from kegsafe.frame.prepared_queries import Blank, Prepared, Row
from kegsafe.pressure.queries import (
    lid_valve_column,
    lid_valves_of,
    something_amiss,
    standing_of_kegs,
)
from kegsafe.rules.cleaning.line_state import LineState
from kegsafe.rules.cold.history import History
from kegsafe.rules.facts import (
    ColdHolding,
    Drink,
    EquipmentHistory,
    FillFacts,
    GlassItem,
    House,
    KegFacts,
    LotStatus,
    Part,
    PourFacts,
    ShelfLife,
    Trigger,
)
from kegsafe.rules.findings import Finding
from kegsafe.stock.facts import (
    ALLERGEN_COLUMNS,
    ASSESSMENT_FIELDS,
    SHELF_LIFE_COLUMNS,
    LotFacts,
    allergen_facts,
    assessment_of,
    house_of_rows,
    own_limits,
    part_rows,
    parts_of_rows,
    shelf_life,
)
from kegsafe.stock.frozen_lots import Made, as_drawn
from kegsafe.stock.frozen_lots import batch as made_batch
from kegsafe.stock.frozen_lots import lot as made_lot
from kegsafe.stock.models import Ingredient, IngredientShelfLife, Lot
from kegsafe.venues.models import Venue


@dataclass(frozen=True, slots=True)
class KegView:
    """A keg as the page shows it: the row of its facts, and the facts themselves."""

    row: Mapping[str, Any]
    facts: PourFacts


def keg_view(venue: Venue, label_code: str, now: datetime | None = None) -> KegView | None:
    """Gather what is known of one keg; None when the venue has no keg of that label.

    now : aware; temperatures are gathered up to then, up to this moment where it is left out
    """
    rows = _keg_of_label(venue=[venue.pk], label=[label_code])
    return next(iter(_views(venue, rows, now)), None)


def keg_views_named(venue: Venue, name: str, now: datetime | None = None) -> list[KegView]:
    """Gather the kegs a person means by a painted name or a label code: one, or none."""
    named = Q(name__iexact=name) | Q(label_code=name.lower())
    return _views(venue, list(_kegs().filter(named, venue=venue)), now)


def open_keg_views(venue: Venue, now: datetime | None = None) -> list[KegView]:
    """Gather every keg that holds a drink, K2 before K10, in the same six queries."""
    return _views(venue, _full_kegs(venue=[venue.pk]), now)


def _views(venue: Venue, rows: list[Row], now: datetime | None) -> list[KegView]:
    if not rows:
        return []
    now = now or timezone.now()
    at_venue = house_of_rows(venue, rows[0]["own_limits"])
    known = _Known.gather(rows, at_venue, now)
    return [KegView(row, _facts(row, at_venue, known)) for row in rows]


@Prepared
def _keg_of_label(venue: list[Blank], label: list[Blank]) -> QuerySet[Keg, Row]:
    return _kegs().filter(venue__pk__in=venue, label_code__in=label)


@Prepared
def _full_kegs(venue: list[Blank]) -> QuerySet[Keg, Row]:
    return _kegs().filter(venue__pk__in=venue).exclude(fill_id=None).order_by(*AS_COUNTED)


def _kegs() -> QuerySet[Keg, Row]:
    """Each keg in one row: what it holds, on which tap, in which place, and what is amiss."""
    joined = Keg.objects.annotate(
        open_fill=FilteredRelation("fills", condition=Q(fills__state__in=Fill.OPEN_STATES)),
        standing=FilteredRelation("placements", condition=Q(placements__ended_at=None)),
        tapped=FilteredRelation(
            "open_fill__tappings", condition=Q(open_fill__tappings__ended_at=None)
        ),
    )
    return joined.annotate(
        **_history("keg", "pk", "open_fill__use__began_at"),
        **_history("line", "tapped__tap__line_id", "tapped__use__began_at"),
        **cleaning_columns(keg="pk", line="tapped__tap__line_id", venue="venue_id"),
        own_limits=own_limits("venue_id"),
        lid_valves=lid_valve_column("pk"),
        line_under_cleaning=Exists(speaking_events().filter(line=OuterRef("tapped__tap__line_id"))),
        gear_amiss=ExpressionWrapper(
            something_amiss(keg=OuterRef("pk"), venue=OuterRef("venue_id")), BooleanField()
        ),
    ).values(
        *_OWN_COLUMNS,
        *_HISTORY_COLUMNS,
        *CLEANING_COLUMNS,
        *(f"open_fill__batch__recipe__assessment__{name}" for name in ASSESSMENT_FIELDS),
        **{name: F(path) for name, path in _JOINED_COLUMNS.items()},
    )


_OWN_COLUMNS = (
    "pk",
    "name",
    "label_code",
    "rated_gauge_pa",
    "metal",
    "service",
    "service_reason",
    "line_under_cleaning",
    "gear_amiss",
    "lid_valves",
    "own_limits",
)
_JOINED_COLUMNS = {
    "fill_id": "open_fill__pk",
    "state": "open_fill__state",
    "state_reason": "open_fill__state_reason",
    "filled_at": "open_fill__filled_at",
    "ready_from": "open_fill__ready_from",
    "set_gauge_pa": "open_fill__set_gauge_pa",
    "cross_contact_accepted": "open_fill__cross_contact_accepted",
    "keg_residue": "open_fill__use__carried_over",
    "batch_id": "open_fill__batch__pk",
    "batch_code": "open_fill__batch__code",
    "made_at": "open_fill__batch__made_at",
    "business_date": "open_fill__batch__business_date",
    "batch_ph": "open_fill__batch__measured_ph",
    "batch_water_activity": "open_fill__batch__measured_water_activity",
    "abv_percent": "open_fill__batch__abv_percent",
    "total_so2_mg_per_l": "open_fill__batch__total_so2_mg_per_l",
    "recipe_id": "open_fill__batch__recipe__pk",
    "drink": "open_fill__batch__recipe__name",
    "recipe_ph": "open_fill__batch__recipe__measured_ph",
    "recipe_water_activity": "open_fill__batch__recipe__measured_water_activity",
    "hold_at_or_below_degc": "open_fill__batch__recipe__hold_at_or_below_degc",
    "tap_name": "tapped__tap__name",
    "line_id": "tapped__tap__line_id",
    "line_name": "tapped__tap__line__name",
    "line_residue": "tapped__use__carried_over",
    "place_name": "standing__place__name",
    "place_kind": "standing__place__kind",
    "reading_interval_s": "standing__place__cooling__reading_interval_s",
}
_HISTORY_COLUMNS = tuple(
    f"{item}_{column}"
    for item in ("keg", "line")
    for column in ("last_drink", "last_ended_at", "cleaned_at")
)


def _history(item: str, pk: str, since: str) -> dict[str, Subquery]:
    """What a keg or line held before the present use, and its newest clean."""
    before = Use.objects.filter(**{item: OuterRef(pk)}, began_at__lt=OuterRef(since)).order_by(
        "-began_at"
    )
    return {
        f"{item}_last_drink": Subquery(before.values("drink")[:1]),
        f"{item}_last_ended_at": Subquery(before.values("ended_at")[:1]),
        f"{item}_cleaned_at": _latest(CleaningRecord, item, pk, "cleaned_at", "cleaned_at"),
    }


def _latest(model: Any, item: str, pk: str, moment: str, column: str) -> Subquery:
    newest = model.objects.filter(**{item: OuterRef(pk)}).order_by(f"-{moment}")
    return Subquery(newest.values(column)[:1])


@dataclass(frozen=True, slots=True)
class _Known:
    """What was gathered for all the kegs at once, by key."""

    behind: Mapping[int, Behind]
    allergens: Mapping[int, list[dict[str, Any]]]
    of_recipe: Mapping[int, tuple[ShelfLife, ...]]
    lots: Mapping[int, LotFacts]
    drawn: Mapping[Made, Mapping[int, Part]]
    lines: Mapping[int, LineState]
    gear: Mapping[int, tuple[Finding, ...]]
    temperatures: Mapping[int, History]
    now: datetime

    @classmethod
    def gather(cls, rows: Iterable[Mapping[str, Any]], at_venue: House, now: datetime) -> "_Known":
        filled = [row for row in rows if row["fill_id"]]
        behind = behind_batches(row["batch_id"] for row in filled)
        glass = frozenset().union(*(each.glass_ingredients for each in behind.values()))
        ingredients = frozenset().union(*(each.served for each in behind.values()))
        lots = frozenset().union(
            *(each.lots.union(*each.behind_glass.values()) for each in behind.values())
        )
        of_ingredient, of_recipe = _shelf_lives(ingredients, {row["recipe_id"] for row in filled})
        facts = parts_of_rows(_lot_rows(behind=lots, glass=glass), at_venue.zone, of_ingredient)
        return cls(
            behind=behind,
            allergens=_allergen_rows(ingredients),
            of_recipe=of_recipe,
            lots={lot.pk: lot for lot in facts},
            drawn=as_drawn({lot.pk: lot.part for lot in facts}, _made(behind), at_venue.zone),
            # Asked only where the kegs' own row says there is something to find.
            lines=line_states({row["line_id"] for row in filled if row["line_under_cleaning"]}),
            gear=standing_of_kegs({row["pk"] for row in filled if row["gear_amiss"]}),
            temperatures=histories_of((_since_filled(row, now) for row in filled), at_venue, now),
            now=now,
        )


def _since_filled(row: Mapping[str, Any], now: datetime) -> DrinkInKeg:
    return DrinkInKeg(row["fill_id"], row["pk"], row["filled_at"], max(now, row["filled_at"]))


def _facts(row: Mapping[str, Any], at_venue: House, known: _Known) -> PourFacts:
    keg = KegFacts(
        name=f"Keg {row['name']}",
        in_use=row["service"] == Service.IN_USE,
        service_reason=row["service_reason"],
        rated_gauge_pa=row["rated_gauge_pa"],
        metal=row["metal"],
        lid_valves=lid_valves_of(row["lid_valves"]),
    )
    fill = _fill(row, at_venue, known) if row["fill_id"] else None
    return PourFacts(keg=keg, fill=fill, house=at_venue)


def _fill(row: Mapping[str, Any], at_venue: House, known: _Known) -> FillFacts:
    behind = known.behind[row["batch_id"]]
    allergens, unknown = allergen_facts(
        each for pk in sorted(behind.served) for each in known.allergens[pk]
    )
    line = row["line_name"]
    return FillFacts(
        drink=_drink(row, known),
        state=row["state"],
        state_reason=row["state_reason"],
        ready_from=row["ready_from"],
        set_gauge_pa=row["set_gauge_pa"],
        allergens=allergens,
        ingredients_with_unknown_allergens=unknown,
        cross_contact_accepted=frozenset(row["cross_contact_accepted"]),
        total_so2_mg_per_l=row["total_so2_mg_per_l"],
        abv_percent=row["abv_percent"],
        keg_history=_equipment_history("keg", f"Keg {row['name']}", row),
        line_history=_equipment_history("line", f"Line {line}", row) if line else None,
        cold=_cold(row, known.temperatures[row["fill_id"]]),
        glass=tuple(_glass(behind, known)),
        line_findings=_line_findings(row, known),
        due_findings=tuple(overdue(row, known.now, at_venue.zone)),
        gear_findings=known.gear.get(row["pk"], ()),
    )


def _cold(row: Mapping[str, Any], history: History) -> ColdHolding:
    """The last reading of its place is whoever read it, a person or a logger."""
    read_s, centi_degc = history.last_read or (None, None)
    return ColdHolding(
        place=row["place_name"],
        place_is_chilled=row["place_kind"] in Place.CHILLED,
        read_at=None if read_s is None else datetime.fromtimestamp(read_s, UTC),
        temperature_degc=None if centi_degc is None else Decimal(centi_degc) / 100,
        interval_s=row["reading_interval_s"],
        history=history,
    )


def _line_findings(row: Mapping[str, Any], known: _Known) -> tuple[Finding, ...]:
    state = known.lines.get(row["line_id"])
    return state.findings(f"Line {row['line_name']}") if state else ()


def _allergen_rows(ingredients: Iterable[int]) -> dict[int, list[Row]]:
    """Return the rows `allergen_facts` reads, by ingredient: one query."""
    found: dict[int, list[Row]] = defaultdict(list)
    for row in _allergens(ingredients=ingredients):
        found[row["pk"]].append(row)
    return found


@Prepared
def _allergens(ingredients: list[Blank]) -> QuerySet[Ingredient, Row]:
    concerned = Ingredient.objects.filter(pk__in=ingredients)
    return concerned.order_by("name").values("pk", *ALLERGEN_COLUMNS)


def _shelf_lives(
    ingredients: Iterable[int], recipes: Iterable[int]
) -> tuple[dict[int, tuple[ShelfLife, ...]], dict[int, tuple[ShelfLife, ...]]]:
    """Return the rules by ingredient, and by recipe those of the drink in its keg: one query."""
    found: tuple[dict[int, tuple[ShelfLife, ...]], ...] = ({}, {})
    for row in _shelf_lives_in_force(ingredients=ingredients, recipes=recipes):
        by_owner = found[bool(row["of_recipe"])]
        life = shelf_life(row, Trigger(row["counts_from"]))
        by_owner[row["owner"]] = (*by_owner.get(row["owner"], ()), life)
    return found


@Prepared
def _shelf_lives_in_force(
    ingredients: list[Blank], recipes: list[Blank]
) -> QuerySet[IngredientShelfLife, Row]:
    columns = ("owner", "of_recipe", "counts_from", *SHELF_LIFE_COLUMNS)
    of_ingredients = IngredientShelfLife.objects.filter(
        ingredient__pk__in=ingredients, withdrawn_at=None
    ).annotate(owner=F("ingredient_id"), of_recipe=Value(False), counts_from=F("after"))
    of_recipes = KegShelfLife.objects.filter(recipe__pk__in=recipes, withdrawn_at=None).annotate(
        owner=F("recipe_id"), of_recipe=Value(True), counts_from=Value(Trigger.KEGGED.value)
    )
    return (
        of_ingredients.order_by()
        .values(*columns)
        .union(of_recipes.order_by().values(*columns), all=True)
    )


@Prepared
def _lot_rows(behind: list[Blank], glass: list[Blank]) -> QuerySet[Lot, Row]:
    """Ask for the lots behind drinks and glasses, and those in stock of what goes into a glass."""
    in_stock = Q(ingredient__pk__in=glass, status=Lot.Status.ACCEPTED, amount_left__gt=0)
    lots = Lot.objects.filter(Q(pk__in=behind) | in_stock).order_by("pk")
    return part_rows(lots, "amount_left")


def _drink(row: Mapping[str, Any], known: _Known) -> Drink:
    """A measurement of the batch itself is better evidence than the recipe's test batch."""
    drawn = known.drawn[made_batch(row["batch_id"])]
    return Drink(
        name=row["drink"],
        made_at=row["made_at"],
        business_date=row["business_date"],
        filled_at=row["filled_at"],
        parts=tuple(drawn[pk] for pk in known.lots if pk in drawn),
        measured_ph=first_known(row["batch_ph"], row["recipe_ph"]),
        measured_water_activity=first_known(
            row["batch_water_activity"], row["recipe_water_activity"]
        ),
        assessment=assessment_of(row, "open_fill__batch__recipe__assessment__"),
        shelf_lives=known.of_recipe.get(row["recipe_id"], ()),
        hold_at_or_below_degc=row["hold_at_or_below_degc"],
    )


def _glass(behind: Behind, known: _Known) -> Iterator[GlassItem]:
    for ingredient_id in sorted(behind.glass_ingredients):
        in_stock = (
            replace(lot.part, in_glass=True, behind=_parts_behind(lot.pk, behind, known))
            for lot in known.lots.values()
            if lot.ingredient_id == ingredient_id
            and lot.part.status is LotStatus.ACCEPTED
            and lot.row["amount_left"] > 0
        )
        yield GlassItem(known.allergens[ingredient_id][0]["name"], tuple(in_stock))


def _parts_behind(lot: int, behind: Behind, known: _Known) -> tuple[Part, ...]:
    keys = sorted(behind.behind_glass.get(lot, ()))
    return tuple(known.drawn[made_lot(lot)][key] for key in keys)


def _made(behind: Mapping[int, Behind]) -> dict[Made, frozenset[int]]:
    """Return the lots behind each drink, and behind each lot in stock for its glass."""
    of_drinks = {made_batch(key): each.lots for key, each in behind.items()}
    of_glasses = {
        made_lot(lot): lots for each in behind.values() for lot, lots in each.behind_glass.items()
    }
    return {**of_drinks, **of_glasses}


def _equipment_history(item: str, name: str, row: Mapping[str, Any]) -> EquipmentHistory:
    return EquipmentHistory(
        name=name,
        previous_drink=row[f"{item}_last_drink"],
        previous_use_ended_at=row[f"{item}_last_ended_at"],
        cleaned_at=row[f"{item}_cleaned_at"],
        residue=frozenset(row[f"{item}_residue"] or ()),
    )
