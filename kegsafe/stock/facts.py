"""From rows to the facts the rules read: a lot becomes a Part, a venue a House."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import F, OuterRef, QuerySet, Subquery

from kegsafe.frame.prepared_queries import Blank, Prepared, Row
from kegsafe.frame.rows_as_json import RowsAsJson
from kegsafe.rules.allergens import AllergenFact, State
from kegsafe.rules.date_marking import FrozenSpan
from kegsafe.rules.facts import Basis, DateKind, House, LotStatus, Part, ShelfLife, Trigger
from kegsafe.rules.limits import LocalLimit as LocalLimitFact
from kegsafe.rules.tcs import ProductAssessment
from kegsafe.stock.frozen_lots import as_drawn
from kegsafe.stock.frozen_lots import lot as made_lot
from kegsafe.stock.lots_behind import behind_lots
from kegsafe.stock.models import IngredientShelfLife, Lot
from kegsafe.venues.models import LocalLimit, Venue

_LOT_FIELDS = (
    "pk",
    "code",
    "ingredient_id",
    "status",
    "status_reason",
    "date_kind",
    "date_on",
    "came_into_being_at",
    "opened_at",
)
_INGREDIENT_FIELDS = (
    "name",
    "category",
    "made_in_house",
    "measured_ph",
    "measured_water_activity",
    "heat_treated_and_packaged",
    "shelf_stable_unopened",
    "date_mark_exempt",
    "warning_group",
)
ASSESSMENT_FIELDS = (
    "reference",
    "competent_person",
    "role",
    "assessed_on",
    "expires_on",
    "measured_ph",
    "measured_water_activity",
    "concludes_not_tcs",
    "maximum_days",
    "scope",
)
SHELF_LIFE_COLUMNS = (
    "days",
    "hours",
    "held_at_or_below_degc",
    "basis",
    "reference",
    "approved_by",
    "approved_on",
    *(f"assessment__{name}" for name in ASSESSMENT_FIELDS),
)
_LIMIT_COLUMNS = (
    "rule",
    "value",
    "unit",
    "valid_from",
    "authority",
    "reference",
    "approved_on",
    "set_by",
)
ALLERGEN_COLUMNS = (
    "name",
    "allergen_list_basis",
    "made_in_house",
    "allergens__source",
    "allergens__statement",
    "allergens__exemption",
)


def house(venue: Venue) -> House:
    """Return the venue as the rules read it: one query, for its own limits."""
    limits = _limits_in_force(venue=[venue.pk])
    return _house(venue, (LocalLimit(**limit).as_fact() for limit in limits))


def house_of_rows(venue: Venue, rows: Iterable[Sequence[Any]] | None) -> House:
    """Return the venue as the rules read it, from a column of `own_limits`: no query."""
    return _house(venue, map(_local_limit, rows or ()))


def _house(venue: Venue, limits: Iterable[LocalLimitFact]) -> House:
    return House(
        code=venue.code,
        zone=venue.zone,
        local_limits=tuple(limits),
        best_before_binds=venue.best_before_binds,
    )


@Prepared
def _limits_in_force(venue: list[Blank]) -> QuerySet[LocalLimit, Row]:
    in_force = LocalLimit.objects.filter(venue__pk__in=venue, withdrawn_at=None)
    return in_force.values(*(field.attname for field in LocalLimit._meta.concrete_fields))


def own_limits(venue: str) -> Subquery:
    """Return a venue's own limits as a column of another query; `venue` leads there from it."""
    in_force = LocalLimit.objects.filter(venue=OuterRef(venue), withdrawn_at=None)
    rows = in_force.order_by().values("venue").annotate(rows=RowsAsJson(*_LIMIT_COLUMNS))
    return Subquery(rows.values("rows"))


def _local_limit(row: Sequence[Any]) -> LocalLimitFact:
    rule, value, unit, valid_from, authority, reference, approved_on, by = row
    return LocalLimitFact(
        rule=rule,
        value=Decimal(str(value)),
        unit=unit,
        valid_from=date.fromisoformat(valid_from),
        authority=authority,
        reference=reference,
        approved_on=None if approved_on is None else date.fromisoformat(approved_on),
        by=by,
    )


@dataclass(frozen=True, slots=True)
class LotFacts:
    """A lot as a Part, with its keys and whatever the query annotated."""

    pk: int
    ingredient_id: int
    part: Part
    row: Mapping[str, Any]


def parts(
    lots: QuerySet[Lot], zone: ZoneInfo, shelf_lives: Mapping[int, tuple[ShelfLife, ...]]
) -> list[LotFacts]:
    """Return the facts of each lot: one query, frozen spans and assessments included.

    `shelf_lives` are the rules in force by ingredient, see `shelf_lives_of`.
    """
    return parts_of_rows(part_rows(lots), zone, shelf_lives)


def parts_in_stock(lots: Iterable[int], zone: ZoneInfo) -> dict[int, Part]:
    """Return lots by key, each with every lot behind it at any depth.

    Three queries, and one more where a lot was ever thawed.
    """
    behind = behind_lots(lots)
    wanted = frozenset(behind).union(*behind.values())
    rows = list(part_rows(Lot.objects.filter(pk__in=wanted)))
    shelf_lives = shelf_lives_of({row["ingredient_id"] for row in rows})
    found = {each.pk: each.part for each in parts_of_rows(rows, zone, shelf_lives)}
    drawn = as_drawn(found, {made_lot(lot): others for lot, others in behind.items()}, zone)
    return {
        lot: replace(
            found[lot], behind=tuple(drawn[made_lot(lot)][other] for other in sorted(others))
        )
        for lot, others in behind.items()
    }


def part_rows(lots: QuerySet[Lot], *further: str) -> QuerySet[Lot, dict[str, Any]]:
    """Ask for the columns that make a Part, and further ones to keep in the row of LotFacts."""
    return lots.values(
        *_LOT_FIELDS,
        *further,
        *(f"ingredient__{name}" for name in _INGREDIENT_FIELDS),
        *(f"ingredient__assessment__{name}" for name in ASSESSMENT_FIELDS),
        business_date=F("preparation__business_date"),
        prepared_at=F("preparation__began_at"),
        frozen_at=F("frozen_spans__frozen_at"),
        thawed_at=F("frozen_spans__thawed_at"),
    )


def parts_of_rows(
    rows: Iterable[dict[str, Any]],
    zone: ZoneInfo,
    shelf_lives: Mapping[int, tuple[ShelfLife, ...]],
) -> list[LotFacts]:
    """Return the facts of each lot from rows of `part_rows`: a lot comes once a frozen span."""
    by_lot: dict[int, list[dict[str, Any]]] = defaultdict(list)
    for row in rows:
        by_lot[row["pk"]].append(row)
    return [
        LotFacts(pk, same_lot[0]["ingredient_id"], _part(same_lot, zone, shelf_lives), same_lot[0])
        for pk, same_lot in by_lot.items()
    ]


def shelf_lives_of(ingredients: Iterable[int]) -> dict[int, tuple[ShelfLife, ...]]:
    """Return the shelf-life rules in force by ingredient: one query."""
    rules = IngredientShelfLife.objects.filter(ingredient__in=ingredients, withdrawn_at=None)
    found: dict[int, list[ShelfLife]] = defaultdict(list)
    for row in rules.values("ingredient_id", "after", *SHELF_LIFE_COLUMNS):
        found[row["ingredient_id"]].append(shelf_life(row, Trigger(row["after"])))
    return {ingredient: tuple(lives) for ingredient, lives in found.items()}


def shelf_life(row: Mapping[str, Any], trigger: Trigger) -> ShelfLife:
    """Return a row of SHELF_LIFE_COLUMNS as the rules read it; `trigger` is its starting point."""
    return ShelfLife(
        id=f"shelf_life.{trigger.value}",
        trigger=trigger,
        days=row["days"],
        hours=row["hours"],
        held_at_or_below_degc=row["held_at_or_below_degc"],
        basis=Basis(row["basis"]),
        reference=row["reference"],
        approved_by=row["approved_by"],
        approved_on=row["approved_on"],
        assessment=assessment_of(row, "assessment__"),
    )


def allergen_facts(
    ingredients: Iterable[Mapping[str, Any]],
) -> tuple[tuple[AllergenFact, ...], tuple[str, ...]]:
    """Return what is known of some ingredients' allergens, and the names not known whole.

    Takes rows of ALLERGEN_COLUMNS, an ingredient once for each source it
    states: `Ingredient.objects.filter(...).values(*ALLERGEN_COLUMNS)`. An
    ingredient whose list was read from nothing, or that states a source as not
    known, is named in the second value.
    """
    facts: dict[AllergenFact, None] = {}
    unknown: dict[str, None] = {}
    for row in ingredients:
        name, statement = row["name"], row["allergens__statement"]
        if statement is not None:
            exemption = row["allergens__exemption"] or None
            fact = AllergenFact(row["allergens__source"], State(statement), exemption, name)
            facts[fact] = None
        # What is made here is what went into it: its own list adds, and is never all of it.
        not_read = not row["allergen_list_basis"] and not row["made_in_house"]
        if not_read or statement == State.NOT_KNOWN.value:
            unknown[name] = None
    return tuple(facts), tuple(sorted(unknown))


def sources_present(facts: Iterable[AllergenFact]) -> list[str]:
    """Return the allergenic sources equipment must remember: contained, perhaps, or not known."""
    remembered = {State.CONTAINS, State.MAY_CONTAIN, State.NOT_KNOWN}
    return sorted({fact.source for fact in facts if fact.state in remembered})


def _part(
    rows: list[dict], zone: ZoneInfo, shelf_lives: Mapping[int, tuple[ShelfLife, ...]]
) -> Part:
    row = rows[0]
    ingredient = {name: row[f"ingredient__{name}"] for name in _INGREDIENT_FIELDS}
    is_prepared = bool(ingredient.pop("made_in_house"))
    return Part(
        lot=row["code"],
        ingredient=ingredient.pop("name"),
        status=LotStatus(row["status"]),
        status_reason=row["status_reason"],
        date_kind=DateKind(row["date_kind"]),
        date_on=row["date_on"],
        is_prepared=is_prepared,
        prepared_at=row["prepared_at"] or (row["came_into_being_at"] if is_prepared else None),
        business_date=row["business_date"],
        opened_at=row["opened_at"],
        thawed_at=_first_thaw(rows),
        frozen=_frozen_spans(rows, zone),
        assessment=assessment_of(row, "ingredient__assessment__"),
        shelf_lives=shelf_lives.get(row["ingredient_id"], ()),
        **ingredient,
    )


def assessment_of(row: Mapping, prefix: str) -> ProductAssessment | None:
    """Return the assessment joined to a row of values, None where there is none."""
    values = {name: row[prefix + name] for name in ASSESSMENT_FIELDS}
    if values["reference"] is None:
        return None
    values["ph"] = values.pop("measured_ph")
    values["water_activity"] = values.pop("measured_water_activity")
    return ProductAssessment(**values)


def _first_thaw(rows: list[dict]) -> datetime | None:
    """A lot that is frozen and thawed again does not begin anew: freezing pauses, no more."""
    return min((row["thawed_at"] for row in rows if row["thawed_at"]), default=None)


def _frozen_spans(rows: list[dict], zone: ZoneInfo) -> tuple[FrozenSpan, ...]:
    """A span without a thaw record counts as never frozen: only whole, known days are left out."""
    return tuple(
        FrozenSpan(row["frozen_at"].astimezone(zone).date(), _local_date(row["thawed_at"], zone))
        for row in rows
        if row["frozen_at"]
    )


def _local_date(moment: datetime | None, zone: ZoneInfo):
    return moment.astimezone(zone).date() if moment else None
