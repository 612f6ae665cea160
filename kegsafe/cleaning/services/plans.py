"""Taking up a starter plan, changing it version by version, and no longer using it."""

import uuid
from dataclasses import replace

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from kegsafe.cleaning.models import CleaningPlan
from kegsafe.cleaning.plan_document import plan_document
from kegsafe.ledger.services import Recorder, StaleRecord, create, record, take_turn
from kegsafe.rules.cleaning.plans import Plan, plans
from kegsafe.rules.cleaning.tightening import copy_findings
from kegsafe.rules.findings import Finding, Severity
from kegsafe.venues.models import Venue


@transaction.atomic
def copy_plan(*, venue: Venue, starter_key: str, by: Recorder) -> CleaningPlan:
    """Take up a starter plan as the venue's own, in its first version.

    Raises ValidationError for a key that no starter has, and for one already taken up.
    """
    starter = plans().get(starter_key)
    if starter is None:
        raise ValidationError(f'"{starter_key}" is no starter plan. Choose one from the list.')
    take_turn(by)
    if in_force(venue).filter(starter_key=starter_key).exists():
        raise ValidationError(f"{starter.name} is one of the venue's plans already: change that.")
    plan = _version(venue, starter, starter_key, uuid.uuid4(), 1, by)
    create(plan, by=by, action="taken up")
    return plan


@transaction.atomic
def change_plan(*, plan: CleaningPlan, changed: Plan, reason: str, by: Recorder) -> CleaningPlan:
    """Put a new version in the place of a plan. Cycles under the old one keep it.

    Raises ValidationError with every stop of the comparison with the starter, and StaleRecord
    where another version was put in force meanwhile.
    """
    take_turn(by)
    old = CleaningPlan.objects.select_for_update().get(pk=plan.pk)
    if old.replaced_on is not None:
        raise StaleRecord("Somebody else changed this plan. Look at what it says now.")
    if not reason.strip():
        raise ValidationError({"reason": "Say why the plan is changed: a few words are enough."})
    refused = [each.statement for each in changes_refused(old, changed)]
    if refused:
        raise ValidationError(refused)
    _put_out_of_force(old, reason, by)
    new = _version(old.venue, changed, old.starter_key, old.family, old.version + 1, by)
    create(new, by=by, action="changed", reason=reason.strip())
    return new


@transaction.atomic
def retire_plan(*, plan: CleaningPlan, reason: str, by: Recorder) -> None:
    """Use a plan no longer: nothing is due under it from then on."""
    take_turn(by)
    old = CleaningPlan.objects.select_for_update().get(pk=plan.pk)
    if not reason.strip():
        raise ValidationError({"reason": "Say why: a few words are enough."})
    if old.replaced_on is None:
        _put_out_of_force(old, reason, by)


def changes_refused(plan: CleaningPlan, changed: Plan) -> list[Finding]:
    """Return what stops a changed plan: unsound, or looser than law or model code."""
    return [each for each in changes_compared(plan, changed) if each.severity is Severity.STOP]


def changes_compared(plan: CleaningPlan, changed: Plan) -> tuple[Finding, ...]:
    """Return what there is to say of a changed plan beside the starter it came from."""
    starter = plans().get(plan.starter_key)
    return copy_findings(changed, plan.as_rules() if starter is None else starter)


def in_force(venue: Venue) -> QuerySet[CleaningPlan]:
    """Return a venue's plans that are in force."""
    return CleaningPlan.objects.filter(venue=venue, replaced_on=None)


def _put_out_of_force(old: CleaningPlan, reason: str, by: Recorder) -> None:
    old.replaced_on = timezone.localdate(timezone=old.venue.zone)
    old.save()
    record(old, by=by, action="put out of force", detail={"reason": reason.strip()})


def _version(
    venue: Venue, rules: Plan, starter_key: str, family: uuid.UUID, version: int, by: Recorder
) -> CleaningPlan:
    kept = replace(rules, key=starter_key)
    return CleaningPlan(
        venue=venue,
        family=family,
        version=version,
        starter_key=starter_key,
        name=kept.name,
        equipment=kept.equipment.value,
        is_allergen_clean=kept.is_allergen_clean,
        document=plan_document(kept),
        valid_from=timezone.localdate(timezone=venue.zone),
        recorded_by=by.person,
    )
