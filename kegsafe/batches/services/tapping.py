"""Tapping: a fill joined to a line and its tap, and taken off again."""

from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction

from kegsafe.batches.facts import drink_facts
from kegsafe.batches.models import Fill, Tapping
from kegsafe.cleaning.queries import history_of
from kegsafe.equipment import services as equipment
from kegsafe.equipment.models import Line, Service, Tap
from kegsafe.ledger.services import Recorder, create, record, take_turn
from kegsafe.rules.date_marking import day_one
from kegsafe.rules.findings import Severity
from kegsafe.rules.tap_checks import TapPlan, tap_checks
from kegsafe.stock.facts import house
from kegsafe.stock.services.moments import refuse_later_than_now


@transaction.atomic
def tap_keg(
    *, fill: Fill, tap: Tap, at: datetime, by: Recorder, accept_line: bool = False
) -> Tapping:
    """Join a fill to a tap; from then on the line remembers the drink.

    `accept_line` signs that the line goes on as it is, not cleaned since its
    last drink; the pour check then asks the manager.

    Raises ValidationError when the fill is not in its keg, the tap pours
    something else, or a rule stops it.
    """
    take_turn(by)
    held = (
        Fill.objects.select_for_update(of=("self",))
        .select_related("batch__recipe__assessment", "batch__venue", "keg", "use")
        .get(pk=fill.pk)
    )
    line = Line.objects.select_for_update().get(pk=tap.line_id)
    _check_tapping(held, tap, at)
    _check_line(held, line, at, accept_line=accept_line)
    use = equipment.begin_use(
        line=line,
        drink=held.batch.recipe.name,
        allergens=sorted({*held.use.allergens, *held.use.carried_over}),
        carried_over=sorted(history_of(line=line, before=at).residue),
        began_at=at,
        by=by,
    )
    tapping = Tapping(fill=held, tap=tap, use=use, began_at=at)
    create(tapping, by=by, action="tapped")
    record(held, by=by, action="tapped", detail={"tap": tap.name})
    return tapping


@transaction.atomic
def untap(*, tapping: Tapping, at: datetime, by: Recorder) -> Tapping:
    """Take a keg off its tap; what is left in it stays in the keg."""
    take_turn(by)
    refuse_later_than_now(at, "at")
    current = Tapping.objects.select_for_update().get(pk=tapping.pk)
    if current.ended_at is not None:
        raise ValidationError("This keg is off the tap already.")
    if at < current.began_at:
        raise ValidationError({"at": "It cannot come off the tap before it went on."})
    return end_tapping(current, at, by)


def end_tapping(tapping: Tapping, at: datetime, by: Recorder) -> Tapping:
    """End a tapping and the line's use with it, in the caller's transaction."""
    tapping.ended_at = at
    tapping.full_clean()
    tapping.save()
    record(tapping, by=by, action="taken off tap")
    record(tapping.fill, by=by, action="taken off tap", detail={"tap": tapping.tap.name})
    equipment.end_use(tapping.use, ended_at=at, by=by)
    return tapping


def _check_tapping(fill: Fill, tap: Tap, at: datetime) -> None:
    refuse_later_than_now(at, "at")
    if fill.state != Fill.State.IN_KEG:
        raise ValidationError(
            f"This fill is {fill.get_state_display().lower()}: {fill.state_reason} It cannot be "
            "tapped."
        )
    if at < fill.filled_at:
        raise ValidationError({"at": "The keg was filled after that. Enter a later time."})
    if not tap.is_active:
        raise ValidationError({"tap": f"{tap} is out of use. Choose another tap."})
    if fill.tappings.filter(ended_at=None).exists():
        raise ValidationError("This keg is already on a tap: take it off first.")
    on_line = Tapping.objects.filter(tap__line=tap.line_id, ended_at=None).first()
    if on_line is not None:
        raise ValidationError(
            {"tap": f"Its line carries {on_line.fill.batch.recipe}: take that off first."}
        )


def _check_line(fill: Fill, line: Line, at: datetime, *, accept_line: bool) -> None:
    at_house = house(fill.batch.venue)
    facts = drink_facts(fill.batch, filled_at=fill.filled_at, at_house=at_house)
    plan = TapPlan(
        line_in_use=line.service == Service.IN_USE,
        line_metal=line.metal,
        history=history_of(line=line, before=at),
        drink=fill.batch.recipe.name,
        measured_ph=facts.drink.measured_ph,
        drink_sources=frozenset(fill.use.allergens),
        accepted=accept_line,
    )
    findings = tap_checks(plan, at_house, day_one(at, at_house.zone, None))
    stops = [each.statement for each in findings if each.severity is Severity.STOP]
    if stops:
        raise ValidationError(stops)
