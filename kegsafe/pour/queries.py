"""Everything that bears on 'may I pour this keg?', in five queries whatever the age of the log."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from django.db.models import (
    BooleanField,
    Exists,
    ExpressionWrapper,
    F,
    FilteredRelation,
    IntegerField,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Value,
)
from django.db.models.expressions import RawSQL

from kegsafe.batches.models import Fill, KegShelfLife, RecipeItem
from kegsafe.cleaning.models import CleaningRecord
from kegsafe.cold_chain.models import Reading
from kegsafe.equipment.models import Keg, Place, Service, Use
from kegsafe.rules.facts import (
    ColdHolding,
    Drink,
    EquipmentHistory,
    FillFacts,
    GlassItem,
    House,
    KegFacts,
    LotStatus,
    PourFacts,
    ShelfLife,
    Trigger,
)
from kegsafe.stock.facts import (
    ALLERGEN_COLUMNS,
    ASSESSMENT_FIELDS,
    SHELF_LIFE_COLUMNS,
    LotFacts,
    allergen_facts,
    assessment_of,
    house,
    parts,
    shelf_life,
)
from kegsafe.stock.models import Ingredient, IngredientShelfLife, Lot
from kegsafe.venues.models import Venue

# Every lot behind a batch, at any depth. UNION, not UNION ALL: a lot met twice is walked once.
_LOTS_BEHIND_BATCH = """
WITH RECURSIVE behind(lot_id) AS (
    SELECT lot_id FROM batches_draw WHERE batch_id = %s
    UNION
    SELECT draw.lot_id FROM behind
    JOIN batches_preparation made ON made.lot_id = behind.lot_id
    JOIN batches_draw draw ON draw.preparation_id = made.id
)
SELECT lot_id FROM behind
"""


@dataclass(frozen=True, slots=True)
class KegView:
    """A keg as the page shows it: the row of its facts, and the facts themselves."""

    row: Mapping[str, Any]
    facts: PourFacts


def keg_view(venue: Venue, label_code: str) -> KegView | None:
    """Gather what is known of one keg; None when the venue has no keg of that label.

    Five queries: the keg with its fill, equipment and place; the lots; the
    ingredients' allergens; the shelf lives; the venue's own limits.
    """
    row = _kegs(venue).filter(label_code=label_code).first()
    return None if row is None else KegView(row, _facts(row, house(venue)))


def all_keg_views(venue: Venue) -> list[KegView]:
    """Gather every keg of a venue that holds a drink, for the list of all verdicts."""
    at_venue = house(venue)
    rows = _kegs(venue).exclude(fill_id=None).order_by("name")
    return [KegView(row, _facts(row, at_venue)) for row in rows]


def _kegs(venue: Venue) -> QuerySet[Keg, dict[str, Any]]:
    fill, batch, recipe = "open_fill__", "open_fill__batch__", "open_fill__batch__recipe__"
    return (
        Keg.objects.filter(venue=venue)
        .annotate(
            open_fill=FilteredRelation("fills", condition=Q(fills__state__in=Fill.OPEN_STATES)),
            standing=FilteredRelation("placements", condition=Q(placements__ended_at=None)),
            tapped=FilteredRelation(
                "open_fill__tappings", condition=Q(open_fill__tappings__ended_at=None)
            ),
        )
        .annotate(
            **_history("keg", "pk", "open_fill__use__began_at"),
            **_history("line", "tapped__tap__line_id", "tapped__use__began_at"),
            read_at=_latest(Reading, "place", "standing__place_id", "read_at", "read_at"),
            read_degc=_latest(
                Reading, "place", "standing__place_id", "read_at", "temperature_degc"
            ),
        )
        .values(
            "pk",
            "name",
            "label_code",
            "rated_gauge_pa",
            "metal",
            "service",
            "service_reason",
            *_HISTORY_COLUMNS,
            "read_at",
            "read_degc",
            *(f"{recipe}assessment__{name}" for name in ASSESSMENT_FIELDS),
            fill_id=F(f"{fill}pk"),
            state=F(f"{fill}state"),
            state_reason=F(f"{fill}state_reason"),
            filled_at=F(f"{fill}filled_at"),
            ready_from=F(f"{fill}ready_from"),
            set_gauge_pa=F(f"{fill}set_gauge_pa"),
            cross_contact_accepted=F(f"{fill}cross_contact_accepted"),
            keg_residue=F(f"{fill}use__carried_over"),
            batch_id=F(f"{batch}pk"),
            batch_code=F(f"{batch}code"),
            made_at=F(f"{batch}made_at"),
            business_date=F(f"{batch}business_date"),
            batch_ph=F(f"{batch}measured_ph"),
            batch_water_activity=F(f"{batch}measured_water_activity"),
            abv_percent=F(f"{batch}abv_percent"),
            total_so2_mg_per_l=F(f"{batch}total_so2_mg_per_l"),
            recipe_id=F(f"{recipe}pk"),
            drink=F(f"{recipe}name"),
            recipe_ph=F(f"{recipe}measured_ph"),
            recipe_water_activity=F(f"{recipe}measured_water_activity"),
            hold_at_or_below_degc=F(f"{recipe}hold_at_or_below_degc"),
            tap_name=F("tapped__tap__name"),
            line_name=F("tapped__tap__line__name"),
            line_residue=F("tapped__use__carried_over"),
            place_name=F("standing__place__name"),
            place_kind=F("standing__place__kind"),
        )
    )


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


def _facts(row: Mapping[str, Any], at_venue: House) -> PourFacts:
    keg = KegFacts(
        name=f"Keg {row['name']}",
        in_use=row["service"] == Service.IN_USE,
        service_reason=row["service_reason"],
        rated_gauge_pa=row["rated_gauge_pa"],
        metal=row["metal"],
    )
    fill = _fill(row, at_venue) if row["fill_id"] else None
    return PourFacts(keg=keg, fill=fill, house=at_venue)


def _fill(row: Mapping[str, Any], at_venue: House) -> FillFacts:
    concerned, in_glass = _concerned(row)
    allergens, unknown = allergen_facts(concerned)
    by_ingredient, of_drink = _shelf_lives(row["recipe_id"], {each["pk"] for each in concerned})
    lots = _lots(row, at_venue, by_ingredient)
    return FillFacts(
        drink=_drink(row, of_drink, lots),
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
        line_history=_equipment_history("line", f"Line {row['line_name']}", row)
        if row["line_name"]
        else None,
        cold=ColdHolding(
            place=row["place_name"],
            place_is_chilled=row["place_kind"] in Place.CHILLED,
            read_at=row["read_at"],
            temperature_degc=row["read_degc"],
        ),
        glass=tuple(_glass(in_glass, lots)),
    )


def _concerned(row: Mapping[str, Any]) -> tuple[list[dict[str, Any]], dict[int, str]]:
    """Return the ingredients behind the drink and in its glass, and the names of the latter."""
    items = RecipeItem.objects.filter(
        recipe=row["recipe_id"], where=RecipeItem.Where.GLASS, is_removed=False
    )
    concerned = list(
        Ingredient.objects.filter(
            Q(pk__in=items.values("ingredient"))
            | Q(pk__in=Lot.objects.filter(pk__in=_behind(row)).values("ingredient"))
        )
        .annotate(in_glass=Exists(items.filter(ingredient=OuterRef("pk"))))
        .values("pk", "in_glass", *ALLERGEN_COLUMNS)
        .order_by("name")
    )
    return concerned, {each["pk"]: each["name"] for each in concerned if each["in_glass"]}


def _shelf_lives(
    recipe_id: int, ingredients: Iterable[int]
) -> tuple[dict[int, tuple[ShelfLife, ...]], tuple[ShelfLife, ...]]:
    """Return the rules of the ingredients and of the drink in its keg: one query for both."""
    columns = ("owner", "after", *SHELF_LIFE_COLUMNS)
    of_ingredients = (
        IngredientShelfLife.objects.filter(ingredient__in=ingredients, withdrawn_at=None)
        .annotate(owner=F("ingredient_id"))
        .values(*columns)
    )
    of_recipe = (
        KegShelfLife.objects.filter(recipe=recipe_id, withdrawn_at=None)
        .annotate(owner=Value(None, IntegerField()), after=Value(Trigger.KEGGED.value))
        .values(*columns)
    )
    by_ingredient: dict[int, tuple[ShelfLife, ...]] = {}
    of_drink: list[ShelfLife] = []
    for found in of_ingredients.order_by().union(of_recipe.order_by(), all=True):
        life = shelf_life(found, Trigger(found["after"]))
        if found["owner"] is None:
            of_drink.append(life)
        else:
            by_ingredient[found["owner"]] = (*by_ingredient.get(found["owner"], ()), life)
    return by_ingredient, tuple(of_drink)


def _lots(
    row: Mapping[str, Any], at_venue: House, lives: Mapping[int, tuple[ShelfLife, ...]]
) -> list[LotFacts]:
    """Return the lots behind the drink, and those in stock of what is added in the glass."""
    behind = Q(pk__in=_behind(row))
    in_stock = Q(
        ingredient__recipe_items__recipe=row["recipe_id"],
        ingredient__recipe_items__where=RecipeItem.Where.GLASS,
        ingredient__recipe_items__is_removed=False,
        status=Lot.Status.ACCEPTED,
        amount_left__gt=0,
    )
    lots = Lot.objects.filter(
        behind | Q(pk__in=Lot.objects.filter(in_stock).values("pk"))
    ).annotate(is_behind=ExpressionWrapper(behind, BooleanField()))
    return parts(lots.order_by("pk"), at_venue.zone, lives, "is_behind", "amount_left")


def _behind(row: Mapping[str, Any]) -> RawSQL:
    return RawSQL(_LOTS_BEHIND_BATCH, [row["batch_id"]])  # noqa: S611 - a constant text


def _drink(
    row: Mapping[str, Any], lives: tuple[ShelfLife, ...], lots: Iterable[LotFacts]
) -> Drink:
    """A measurement of the batch itself is better evidence than the recipe's test batch."""
    recipe = "open_fill__batch__recipe__"
    return Drink(
        name=row["drink"],
        made_at=row["made_at"],
        business_date=row["business_date"],
        filled_at=row["filled_at"],
        parts=tuple(lot.part for lot in lots if lot.row["is_behind"]),
        measured_ph=_first_known(row["batch_ph"], row["recipe_ph"]),
        measured_water_activity=_first_known(
            row["batch_water_activity"], row["recipe_water_activity"]
        ),
        assessment=assessment_of(row, f"{recipe}assessment__"),
        shelf_lives=lives,
    )


def _glass(in_glass: Mapping[int, str], lots: Iterable[LotFacts]) -> Iterator[GlassItem]:
    for ingredient_id, name in in_glass.items():
        yield GlassItem(
            name,
            tuple(
                replace(lot.part, in_glass=True)
                for lot in lots
                if lot.ingredient_id == ingredient_id
                and lot.part.status is LotStatus.ACCEPTED
                and lot.row["amount_left"] > 0
            ),
        )


def _equipment_history(item: str, name: str, row: Mapping[str, Any]) -> EquipmentHistory:
    return EquipmentHistory(
        name=name,
        previous_drink=row[f"{item}_last_drink"],
        previous_use_ended_at=row[f"{item}_last_ended_at"],
        cleaned_at=row[f"{item}_cleaned_at"],
        residue=frozenset(row[f"{item}_residue"] or ()),
    )


def _first_known(*values: Decimal | None) -> Decimal | None:
    return next((value for value in values if value is not None), None)
