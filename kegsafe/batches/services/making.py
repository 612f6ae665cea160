"""Making preparations and batches: lots in, by measured amounts, one lot or one batch out."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models, transaction

from kegsafe.batches.mass_balance import Strength, of_lot, strength_of
from kegsafe.batches.models import Batch, Preparation, Recipe
from kegsafe.batches.services.draws import NewDraw, draw
from kegsafe.ledger.models import Entry
from kegsafe.ledger.services import Recorder, amend, create, take_turn
from kegsafe.stock import services as stock
from kegsafe.stock.models import Ingredient, Lot, Measure
from kegsafe.stock.services.decimal_places import in_places_of
from kegsafe.stock.services.moments import refuse_later_than_now
from kegsafe.venues.models import Venue


@transaction.atomic
def make_preparation(
    *,
    venue: Venue,
    ingredient: Ingredient,
    began_at: datetime,
    draws: Sequence[tuple[Lot, Decimal, str]],
    amount: Decimal,
    amount_typed: str,
    by: Recorder,
    finished_at: datetime | None = None,
    business_date: date | None = None,
    measure: str | None = None,
    place: models.Model | None = None,
    method: str = "",
) -> Preparation:
    """Record a syrup, an infusion, a juice or a cordial: lots in, a lot of `ingredient` out.

    `draws` are lots, amounts in the lot's base unit, and what was typed.
    Everything counts from `began_at`, the start of the work. The new lot
    carries alcohol, sulphites and sugar by mass balance, None where a part's are
    not known.

    Raises ValidationError for a bought ingredient, no draws, times out of
    order, and whatever a draw refuses.
    """
    take_turn(by)
    _check_preparation(venue, ingredient, began_at, finished_at, business_date)
    draws = _draws(draws)
    measure = measure or ingredient.measure
    strength = _strength(draws, amount if measure == Measure.VOLUME else None)
    lot = stock.make_lot(
        venue=venue,
        ingredient=ingredient,
        measure=measure,
        amount=amount,
        amount_typed=amount_typed,
        came_into_being_at=began_at,
        place=place,
        abv_percent=strength.abv_percent,
        total_so2_mg_per_l=strength.total_so2_mg_per_l,
        sugar_g_per_l=strength.sugar_g_per_l,
        by=by,
    )
    made = Preparation(
        venue=venue,
        lot=lot,
        began_at=began_at,
        finished_at=finished_at,
        business_date=business_date,
        made_by=by.person,
        method=method.strip(),
    )
    create(made, by=by, action="made")
    for each in draws:
        draw(each, into=made, drawn_at=began_at, by=by)
    return made


@transaction.atomic
def make_batch(
    *,
    venue: Venue,
    recipe: Recipe,
    made_at: datetime,
    volume_ml: Decimal,
    draws: Sequence[tuple[Lot, Decimal, str]],
    by: Recorder,
    business_date: date | None = None,
    measured_ph: Decimal | None = None,
    measured_water_activity: Decimal | None = None,
) -> Batch:
    """Record one making of a recipe, with what was drawn for it and the volume measured.

    Raises ValidationError for no draws, a time to come, a volume of nothing,
    and whatever a draw refuses.
    """
    take_turn(by)
    refuse_later_than_now(made_at, "made_at")
    _check_business_date(venue, made_at, business_date)
    draws = _draws(draws)
    if volume_ml <= 0:
        raise ValidationError({"volume_ml": "A batch is more than nothing: 18 L, for example."})
    strength = _strength(draws, volume_ml)
    measured = {
        "volume_ml": volume_ml,
        "measured_ph": measured_ph,
        "measured_water_activity": measured_water_activity,
        "abv_percent": strength.abv_percent,
        "total_so2_mg_per_l": strength.total_so2_mg_per_l,
        "sugar_g_per_l": strength.sugar_g_per_l,
    }
    batch = Batch(
        venue=venue,
        recipe=recipe,
        code=_next_batch_code(venue, venue.local(made_at).date()),
        made_at=made_at,
        business_date=business_date,
        made_by=by.person,
        **in_places_of(Batch, measured),
    )
    create(batch, by=by, action="made")
    for each in draws:
        draw(each, into=batch, drawn_at=made_at, by=by)
    return batch


@transaction.atomic
def amend_batch(
    *,
    batch: Batch,
    changes: Mapping[str, Any],
    reason: str,
    by: Recorder,
    seen_sequence: int | None = None,
) -> Entry | None:
    """Correct the measurements of a batch: measured_ph and measured_water_activity."""
    changed = in_places_of(Batch, changes)
    return amend(batch, changed, by=by, reason=reason, seen_sequence=seen_sequence)


def _strength(draws: Sequence[NewDraw], measured_ml: Decimal | None) -> Strength:
    return strength_of([of_lot(each.lot, each.amount) for each in draws], measured_ml)


def _check_preparation(
    venue: Venue,
    ingredient: Ingredient,
    began_at: datetime,
    finished_at: datetime | None,
    business_date: date | None,
) -> None:
    if not ingredient.made_in_house:
        raise ValidationError(
            {
                "ingredient": f"{ingredient} is bought in. Choose an ingredient that is made in "
                "house, or add one."
            }
        )
    refuse_later_than_now(began_at, "began_at")
    _check_business_date(venue, began_at, business_date)
    if finished_at is not None:
        refuse_later_than_now(finished_at, "finished_at")
        if finished_at < began_at:
            raise ValidationError({"finished_at": "It cannot be finished before it was begun."})


def _check_business_date(venue: Venue, began_at: datetime, business_date: date | None) -> None:
    """The working day may be the date before, when it is past midnight, and no other."""
    if business_date is None:
        return
    local = venue.local(began_at).date()
    if not 0 <= (local - business_date).days <= 1:
        raise ValidationError(
            {
                "business_date": f"Work begun on {local} belongs to that day or to the day before. "
                "Leave it out, or enter one of the two."
            }
        )


def _draws(draws: Sequence[tuple[Lot, Decimal, str]]) -> list[NewDraw]:
    if not draws:
        raise ValidationError("Say what went into it: at least one lot with its amount.")
    return [NewDraw(*each) for each in draws]


def _next_batch_code(venue: Venue, on: date) -> str:
    """Return the next free code of a day: B260407-2 is the second batch of 7 April 2026."""
    prefix = f"B{on:%y%m%d}-"
    taken = Batch.objects.filter(venue=venue, code__startswith=prefix).values_list(
        "code", flat=True
    )
    numbers = [int(code.removeprefix(prefix)) for code in taken]
    return f"{prefix}{max(numbers, default=0) + 1}"
