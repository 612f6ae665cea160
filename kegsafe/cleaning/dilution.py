"""The working solution for a circuit, ready to measure: its volume, and the dose of a chemical."""

from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Model

from kegsafe.cleaning.models import ChemicalBatch
from kegsafe.equipment.models import Keg, Line
from kegsafe.rules.cleaning.caustic_loss import CausticLoss, caustic_loss
from kegsafe.rules.cleaning.chemicals import ChemicalFacts
from kegsafe.rules.cleaning.limits import no_rinse_maximum
from kegsafe.rules.cleaning.mixing import CannotMix, Mix, line_solution_ml, mix
from kegsafe.rules.cleaning.plans import PlanStep
from kegsafe.rules.cleaning.vocabulary import Chemistry, LimitFrom
from kegsafe.science.ranges import OutsideRange

FITTINGS_ML = Decimal(40)  # tap, shank and coupler: 20 to 50 is common practice, no source
DEFAULT_BUCKET_ML = Decimal(5000)


@dataclass(frozen=True, slots=True)
class Volume:
    """What a circuit takes, ml. `unknown` are the lines whose length or bore is not on record."""

    total_ml: Decimal
    lines_ml: Decimal
    unknown: tuple[str, ...]


def volume_of(pieces: Iterable[Model], bucket_ml: Decimal) -> Volume:
    """Return the solution for all lines together and the bucket they share."""
    lines_ml, unknown = Decimal(0), []
    for line in (piece for piece in pieces if isinstance(piece, Line)):
        if line.length_m is None or line.inner_diameter_mm is None:
            unknown.append(str(line))
            continue
        try:
            lines_ml += line_solution_ml(
                line.length_m, line.inner_diameter_mm, FITTINGS_ML, Decimal(0)
            )
        except OutsideRange:
            unknown.append(str(line))
    return Volume(lines_ml + bucket_ml, lines_ml, tuple(unknown))


def dose_of(step: PlanStep, batch: ChemicalBatch, total_ml: Decimal, on: date) -> Mix | str:
    """Return what to measure, or a sentence that says why none can be worked out."""
    stock = batch.chemical.stock_mg_per_l
    low, high = _limits(step, batch.facts(), on)
    if stock is None:
        return "The strength of the concentrate is not on record: measure by the label."
    if low is None:
        return "The label's strength is not on record: copy it from the container first."
    try:
        return mix(total_ml, stock, low, high)
    except (CannotMix, OutsideRange) as trouble:
        return str(trouble)


def caustic_losses(
    pieces: Iterable[Model], step: PlanStep | None, batches: Iterable[ChemicalBatch], on: date
) -> list[CausticLoss]:
    """Return what each size of keg would take from a caustic wash while it is full of CO2.

    Of the weakest solution that the step allows, and of none where nothing alkaline goes in.
    """
    if step is None or step.chemistry is not Chemistry.ALKALINE:
        return []
    kegs = {keg.capacity_ml: keg for keg in pieces if isinstance(keg, Keg)}
    limits = (_limits(step, batch.facts(), on)[0] for batch in batches)
    weakest = min((low for low in limits if low is not None), default=None)
    found = []
    for capacity_ml, keg in sorted(kegs.items()):
        # A label may name a strength that no caustic has; the grams are shown without it then.
        for strength in (weakest, None):
            with suppress(OutsideRange):
                found.append(caustic_loss(str(keg), capacity_ml, strength))
                break
    return found


def _limits(
    step: PlanStep, facts: ChemicalFacts, on: date
) -> tuple[Decimal | None, Decimal | None]:
    """Return the ends to aim between; a sanitiser also stays where no rinse is needed."""
    if step.strength_from is LimitFrom.PLAN and step.strength is not None:
        return step.strength.minimum, step.strength.maximum
    low, high = facts.label_at_least_mg_per_l, facts.label_at_most_mg_per_l
    if step.chemistry is Chemistry.SANITISER and facts.active is not None:
        row = no_rinse_maximum(facts.active, on)
        ends = [each for each in (high, row.at_most_mg_per_l if row else None) if each is not None]
        high = min(ends, default=None)
    return low, high
