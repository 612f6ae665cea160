"""What a page of the stock room shows, each in a fixed, small number of queries."""

from dataclasses import replace
from datetime import datetime

from django.db.models import Count, Max, Q, QuerySet

from kegsafe.ledger.models import Entry, Recorded
from kegsafe.ledger.queries import Event, as_event
from kegsafe.rules.allergen_lists import processes, sources
from kegsafe.stock.models import (
    Delivery,
    Ingredient,
    IngredientAllergen,
    IngredientShelfLife,
    Lot,
    ProductAssessment,
    Supplier,
)
from kegsafe.stock.standing import Stand, Standing, standings
from kegsafe.venues.models import Venue

DRAWS_SHOWN = 50
LOTS_SHOWN = 20


def suppliers(venue: Venue, *, query: str = "") -> QuerySet[Supplier]:
    """Return a venue's suppliers, those in use first, with `last_delivery_at`."""
    found = (
        Supplier.objects.filter(venue=venue)
        .annotate(last_delivery_at=Max("deliveries__received_at"))
        .order_by("-is_active", "name")
    )
    return found.filter(name__icontains=query) if query else found


def assessments(venue: Venue, *, query: str = "") -> QuerySet[ProductAssessment]:
    """Return the judgements on record, newest first, with what rests on each."""
    found = (
        ProductAssessment.objects.filter(venue=venue)
        .prefetch_related("ingredients", "recipes")
        .order_by("-assessed_on", "-pk")
    )
    if not query:
        return found
    return found.filter(
        Q(reference__icontains=query)
        | Q(scope__icontains=query)
        | Q(competent_person__icontains=query)
    )


def ingredients(venue: Venue, *, query: str = "") -> QuerySet[Ingredient]:
    """Return a venue's ingredients, those in use first, with what their lists show.

    `not_known` counts the sources stated as not known, `in_stock` the lots with something left.
    """
    found = (
        Ingredient.objects.filter(venue=venue)
        .annotate(
            not_known=Count(
                "allergens",
                filter=Q(allergens__statement=IngredientAllergen.Statement.NOT_KNOWN),
                distinct=True,
            ),
            in_stock=Count(
                "lots",
                filter=Q(lots__status=Lot.Status.ACCEPTED, lots__amount_left__gt=0),
                distinct=True,
            ),
        )
        .order_by("-is_active", "name")
    )
    for word in query.split():
        found = found.filter(name__icontains=word)
    return found


def deliveries(venue: Venue, *, query: str = "") -> QuerySet[Delivery]:
    """Return a venue's deliveries, newest first, with `lot_count` and `rejected_count`."""
    found = (
        Delivery.objects.filter(venue=venue)
        .select_related("supplier")
        .annotate(
            lot_count=Count("lots"),
            rejected_count=Count("lots", filter=Q(lots__status=Lot.Status.REJECTED)),
        )
        .order_by("-received_at", "-pk")
    )
    if query:
        found = found.filter(Q(supplier__name__icontains=query) | Q(document__icontains=query))
    return found


def lots(venue: Venue, *, query: str = "") -> QuerySet[Lot]:
    """Return a venue's lots, newest first, found by ingredient, code or supplier."""
    found = Lot.objects.filter(venue=venue).select_related(
        "ingredient__assessment", "place", "delivery__supplier"
    )
    if query:
        found = found.filter(
            Q(ingredient__name__icontains=query)
            | Q(code__icontains=query)
            | Q(supplier_lot_code__icontains=query)
            | Q(delivery__supplier__name__icontains=query)
        )
    return found.order_by("-came_into_being_at", "-pk")


def lots_in_stock(
    venue: Venue, now: datetime, *, query: str = "", stand: Stand | None = None
) -> list[Standing]:
    """Return what there is to draw from or decide about, what ends first on top.

    Dates are the rules' work, not the database's, so all lots in stock are
    judged: five queries, whatever their number.
    """
    in_stock = lots(venue, query=query).filter(
        status__in=[Lot.Status.ACCEPTED, Lot.Status.ON_HOLD], amount_left__gt=0
    )
    judged = standings(list(in_stock), venue, now)
    wanted = [each for each in judged if stand is None or each.stand is stand]
    return sorted(wanted, key=lambda each: (each.ends_at is None, each.ends_at or now))


def draws_of(lot: Lot) -> QuerySet:
    """Return what a lot went into, newest first, with batch or preparation."""
    into = lot.draws.select_related("batch__recipe", "preparation__lot__ingredient")
    return into.order_by("-drawn_at", "-pk")[:DRAWS_SHOWN]


def history_of_ingredient(ingredient: Ingredient) -> list[Event]:
    """Return what happened to an ingredient, its allergens and shelf lives, newest first."""
    rows: list[Recorded] = [ingredient, *ingredient.allergens.all(), *ingredient.shelf_lives.all()]
    by_subject = {row.ledger_subject: row for row in rows}
    entries = Entry.objects.filter(subject__in=by_subject).order_by("-sequence")
    events = [(as_event(each, type(by_subject[each.subject])), each.subject) for each in entries]
    return [_with_its_subject(event, by_subject[subject]) for event, subject in events]


def _with_its_subject(event: Event, row: Recorded) -> Event:
    match row:
        case IngredientAllergen():
            name = sources()[row.source].name if row.source in sources() else row.source
            return replace(event, action=f"{event.action}: {name}")
        case IngredientShelfLife():
            rule = f"{row.duration_text} after {row.get_after_display()}"
            return replace(event, action=f"{event.action}: {rule}")
    return event


def allergens_stated(ingredient: Ingredient) -> list[tuple[str, list[tuple[str, str]]]]:
    """Return the statements of an ingredient by their words, gravest first: one query.

    Each holds the sources of that statement with the process, where there is one.
    """
    stated: dict[str, list[tuple[str, str]]] = {
        label: [] for label in IngredientAllergen.Statement.labels
    }
    for row in ingredient.allergens.all():
        process = processes()[row.exemption].label if row.exemption in processes() else ""
        name = sources()[row.source].name if row.source in sources() else row.source
        stated[row.get_statement_display()].append((name, process))
    return [(label, rows) for label, rows in stated.items() if rows]
