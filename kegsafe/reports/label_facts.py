"""What a label says, from the same queries and verdicts as the pages: no rule of its own."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from decimal import Decimal

from kegsafe.batches.facts import allergens_of
from kegsafe.batches.models import Fill
from kegsafe.frame.cautions import ALLERGENS, CO2_AND_PRESSURE, DEFERENCE
from kegsafe.frame.templatetags.kegsafe import NOT_RECORDED, local_time, verified_word
from kegsafe.pour.queries import KegView
from kegsafe.quantities import Kind, write
from kegsafe.reports.labels import AllergenLine, LabelFacts
from kegsafe.rules.allergens import Declaration, Declared, declare
from kegsafe.rules.codes import regimes
from kegsafe.rules.date_candidates import Candidate
from kegsafe.rules.date_marking import day_one
from kegsafe.rules.facts import FillFacts
from kegsafe.rules.findings import Finding
from kegsafe.rules.holding import hold_lot_at_or_below
from kegsafe.rules.pour_check import PourVerdict
from kegsafe.rules.sulphite import SulphiteAmount
from kegsafe.rules.use_by import use_by
from kegsafe.stock.facts import house, shelf_lives_of
from kegsafe.stock.lots_behind import behind_lots
from kegsafe.stock.models import Lot
from kegsafe.stock.standing import Stand, Standing, standings
from kegsafe.venues.models import Venue


def keg_label(
    venue: Venue, view: KegView, verdict: PourVerdict, *, address: str, at: datetime
) -> LabelFacts:
    """Return the label of a keg that holds a drink, as the pour check judges it at a moment.

    `address` is the whole address of the keg's pour check. Moments are
    written in the time zone that is active, which a page has set to the venue's.
    """
    fill, row = view.facts.fill, view.row
    if fill is None or verdict.declaration is None:
        raise ValueError(f"{view.facts.keg.name} holds no drink.")
    dated = use_by(fill.drink, view.facts.house)
    binding = dated.earliest if verdict.use_by else None
    return LabelFacts(
        venue=venue.name,
        name=fill.drink.name,
        container=view.facts.keg.name,
        particulars=(
            ("Batch", row["batch_code"]),
            ("Lot", f"{row['batch_code']}/{row['fill_id']}"),
            ("Filled", local_time(fill.drink.filled_at)),
            ("Ready from", local_time(fill.ready_from)),
            ("Hold at or below", _temperature(verdict.hold_at_or_below_degc, venue)),
            ("Alcohol", _alcohol(fill.abv_percent)),
        ),
        use_by=verdict.use_by,
        date_because=_because(binding, verdict.findings),
        date_source=_cited(binding),
        allergens=_allergen_lines(verdict.declaration, fill.ingredients_with_unknown_allergens),
        cautions=(*_sentences(CO2_AND_PRESSURE), ALLERGENS),
        edition=_edition(venue),
        address=address,
        scan=f"Before you pour: scan, or type {row['label_code']}",
        printed_at=at,
        zone=venue.zone,
        warning=_keg_warning(fill, verdict),
    )


def lot_label(venue: Venue, lot: Lot, *, address: str, at: datetime) -> LabelFacts:
    """Return the label of a container: what was prepared, or a pack as it stands open.

    Every lot behind it, at any depth, has its say in the date and the
    allergens. `address` is the whole address of the lot's own page.
    """
    behind = _lots_behind(lot)
    [standing] = standings([lot], venue, at)
    binding = _binding(standing)
    declaration, unknown = _declared(venue, lot, behind)
    return LabelFacts(
        venue=venue.name,
        name=lot.ingredient.name,
        container=f"Lot {lot.code}",
        particulars=(
            *_came_into_being(lot),
            ("Hold at or below", _temperature(_lot_limit(venue, (lot, *behind), at), venue)),
            ("Alcohol", _alcohol(_abv(lot))),
        ),
        use_by=binding.ends_at if binding else None,
        date_because=_because(binding, standing.reasons),
        date_source=_cited(binding),
        allergens=_allergen_lines(declaration, unknown),
        cautions=(ALLERGENS,),
        edition=_edition(venue),
        address=address,
        scan=f"Scan for the record of lot {lot.code}",
        printed_at=at,
        zone=venue.zone,
        warning=_lot_warning(standing),
    )


# The date


def _binding(standing: Standing) -> Candidate | None:
    """Return what ends a lot first; None when it, or a lot behind it, cannot be dated."""
    if any(finding.rule == "use_by.undated" for finding in standing.reasons):
        return None
    return standing.binding


def _because(binding: Candidate | None, findings: Iterable[Finding]) -> str:
    if binding is not None:
        return binding.because
    missing = (each.statement for each in findings if each.rule == "use_by.undated")
    return next(missing, "Nothing on record gives it a date.")


def _cited(binding: Candidate | None) -> str:
    return f"{binding.source} ({verified_word(binding.verified)})." if binding else ""


# What is held, and how strong it is


def _lot_limit(venue: Venue, lots: Sequence[Lot], at: datetime) -> Decimal | None:
    rules = shelf_lives_of({lot.ingredient_id for lot in lots}).values()
    at_venue = house(venue)
    on = day_one(at, at_venue.zone, None)
    return hold_lot_at_or_below((rule for each in rules for rule in each), at_venue, on)


def _temperature(degc: Decimal | None, venue: Venue) -> str:
    if degc is None:
        return NOT_RECORDED
    # No line ends between a figure and its degrees.
    return write(degc, Kind.TEMPERATURE, venue.units, both=True).replace(
        " °", "\N{NO-BREAK SPACE}°"
    )


def _alcohol(percent: Decimal | None) -> str:
    return NOT_RECORDED if percent is None else f"{percent.normalize():f} % vol"


def _abv(lot: Lot) -> Decimal | None:
    return lot.ingredient.abv_percent if lot.abv_percent is None else lot.abv_percent


def _came_into_being(lot: Lot) -> Iterator[tuple[str, str]]:
    made_in_house = lot.ingredient.made_in_house
    yield "Made" if made_in_house else "Received", local_time(lot.came_into_being_at)
    if not made_in_house:
        yield "Opened", local_time(lot.opened_at)


# Allergens


def _lots_behind(lot: Lot) -> list[Lot]:
    keys = behind_lots([lot.pk])[lot.pk]
    return list(Lot.objects.filter(pk__in=keys).select_related("ingredient").order_by("pk"))


def _declared(venue: Venue, lot: Lot, behind: Sequence[Lot]) -> tuple[Declaration, tuple[str, ...]]:
    ingredients = frozenset(each.ingredient_id for each in (lot, *behind))
    facts, unknown = allergens_of(ingredients)
    on = venue.local(lot.came_into_being_at).date()
    so2 = SulphiteAmount(lot.total_so2_mg_per_l)
    return declare(facts, venue.code.allergen_regime, so2, on), unknown


def _allergen_lines(declaration: Declaration, unknown: Sequence[str]) -> tuple[AllergenLine, ...]:
    """Return the declaration line by line; what is not known is said, never left out."""
    contains = _line("Contains", declaration.contains) or (
        AllergenLine(
            f"No allergen of the {regimes()[declaration.regime].name} list is recorded as an "
            "ingredient."
        ),
    )
    return (
        *contains,
        *_line("May contain", declaration.may_contain),
        *_line("Not known, ask:", declaration.not_known),
        *((AllergenLine("Allergens not known of", tuple(unknown)),) if unknown else ()),
        *_line("Also in it:", (*declaration.also_contains, *declaration.for_information)),
    )


def _line(words: str, declared: Sequence[Declared]) -> tuple[AllergenLine, ...]:
    names = tuple(each.display_name for each in declared)
    return (AllergenLine(words, names),) if names else ()


# Words


def _keg_warning(fill: FillFacts, verdict: PourVerdict) -> str:
    parts = []
    if fill.state == Fill.State.ON_HOLD:
        parts.append(f"ON HOLD: {fill.state_reason}.")
    if any(finding.rule == "use_by.passed" for finding in verdict.findings):
        parts.append("PAST ITS DATE: do not pour.")
    return " ".join(parts)


def _lot_warning(standing: Standing) -> str:
    if standing.stand is Stand.ON_HOLD:
        return f"ON HOLD: {standing.lot.status_reason}."
    if standing.stand is Stand.MADE_OF_HELD:
        return "MADE OF A LOT ON HOLD: do not use."
    if any(finding.rule == "lot.past_its_date" for finding in standing.reasons):
        return "PAST ITS DATE: do not use."
    return ""


def _sentences(text: str) -> tuple[str, str]:
    """Return the first sentence, and the others."""
    first, stop, rest = text.partition(". ")
    return first + stop.rstrip(), rest


def _edition(venue: Venue) -> str:
    return f"{venue.code.name}, {venue.code.edition}. {DEFERENCE}"
