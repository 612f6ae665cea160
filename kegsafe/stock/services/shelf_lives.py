"""How long an ingredient keeps, on whose word; and the judgement of a competent person."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from kegsafe.ledger.services import Recorder, amend, create, record, take_turn
from kegsafe.stock.models import (
    Ingredient,
    IngredientShelfLife,
    ProductAssessment,
    ShelfLifeRule,
)
from kegsafe.stock.services.decimal_places import in_places_of
from kegsafe.venues.models import Venue

# On these somebody at the venue answers for the number; a label or a code answers for its own.
NEEDS_A_NAME = frozenset({ShelfLifeRule.Basis.HOUSE_RULE, ShelfLifeRule.Basis.LABORATORY_STUDY})


@transaction.atomic
def add_shelf_life(
    *,
    ingredient: Ingredient,
    after: str,
    basis: str,
    by: Recorder,
    days: int | None = None,
    hours: int | None = None,
    held_at_or_below_degc: Decimal | None = None,
    reference: str = "",
    approved_by: str = "",
    approved_on: date | None = None,
    assessment: ProductAssessment | None = None,
) -> IngredientShelfLife:
    """Add how long an ingredient keeps after an event: in days or hours, one of the two.

    Raises ValidationError when neither or both are given, and for a house rule
    or a study without the name and the day of who answers for it.
    """
    refuse_nobodys_word(basis, approved_by, approved_on)
    values = in_places_of(IngredientShelfLife, {"held_at_or_below_degc": held_at_or_below_degc})
    rule = IngredientShelfLife(
        ingredient=ingredient,
        after=after,
        days=days,
        hours=hours,
        basis=basis,
        reference=reference,
        approved_by=approved_by.strip(),
        approved_on=approved_on,
        assessment=assessment,
        **values,
    )
    create(rule, by=by, action="set")
    return rule


@transaction.atomic
def withdraw_shelf_life(
    *, rule: IngredientShelfLife, reason: str, by: Recorder
) -> IngredientShelfLife:
    """Take a rule out of force from now on; it stays on record with the reason."""
    take_turn(by)
    current = IngredientShelfLife.objects.select_for_update().get(pk=rule.pk)
    if current.withdrawn_at is not None:
        raise ValidationError("This rule is already withdrawn.")
    if not reason.strip():
        raise ValidationError({"reason": "Say why the rule no longer holds: a few words do."})
    current.withdrawn_at = timezone.now()
    current.save()
    record(current, by=by, action="withdrew", detail={"reason": reason.strip()})
    return current


@transaction.atomic
def add_assessment(
    *,
    venue: Venue,
    reference: str,
    scope: str,
    competent_person: str,
    role: str,
    assessed_on: date,
    by: Recorder,
    expires_on: date | None = None,
    measured_ph: Decimal | None = None,
    measured_water_activity: Decimal | None = None,
    study: str = "",
    concludes_not_tcs: bool = False,
    maximum_days: int | None = None,
    ingredient: Ingredient | None = None,
) -> ProductAssessment:
    """Record a competent person's judgement, and let an ingredient rest on it where one is given.

    Raises ValidationError for a day to come, an end before the beginning, and
    a judgement that rests neither on measured values nor on a study.
    """
    _check_days(assessed_on, expires_on)
    measured = {"measured_ph": measured_ph, "measured_water_activity": measured_water_activity}
    assessment = ProductAssessment(
        venue=venue,
        reference=reference.strip(),
        scope=scope,
        competent_person=competent_person.strip(),
        role=role,
        assessed_on=assessed_on,
        expires_on=expires_on,
        study=study.strip(),
        concludes_not_tcs=concludes_not_tcs,
        maximum_days=maximum_days,
        **in_places_of(ProductAssessment, measured),
    )
    create(assessment, by=by, action="recorded")
    if ingredient is not None:
        amend(
            ingredient,
            {"assessment": assessment},
            by=by,
            reason=f"Assessment {assessment.reference} recorded.",
        )
    return assessment


@transaction.atomic
def amend_assessment(
    *,
    assessment: ProductAssessment,
    changes: Mapping[str, Any],
    reason: str,
    by: Recorder,
    seen_sequence: int | None = None,
) -> ProductAssessment:
    """Correct what was copied from the document, or let the judgement end, with the reason.

    What rests on it is judged anew from then on. Raises ValidationError for an
    end before the beginning.
    """
    _check_days(assessment.assessed_on, changes.get("expires_on", assessment.expires_on))
    amend(assessment, changes, by=by, reason=reason, seen_sequence=seen_sequence)
    return assessment


def refuse_nobodys_word(basis: str, approved_by: str, approved_on: date | None) -> None:
    """Raise ValidationError for a house rule or a study without a name and a day."""
    if basis not in NEEDS_A_NAME:
        return
    missing = {}
    if not approved_by.strip():
        missing["approved_by"] = "A house rule or a study needs the name of who answers for it."
    if approved_on is None:
        missing["approved_on"] = "Enter the day it was approved: 2026-04-07, for example."
    if missing:
        raise ValidationError(missing)


def _check_days(assessed_on: date, expires_on: date | None) -> None:
    if assessed_on > timezone.localdate():
        raise ValidationError(
            {"assessed_on": f"{assessed_on} has not come yet. Enter the day of the assessment."}
        )
    if expires_on is not None and expires_on < assessed_on:
        raise ValidationError(
            {"expires_on": f"{expires_on} is before the assessment of {assessed_on}. Check both."}
        )
