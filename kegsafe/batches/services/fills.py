"""A fill's life: into the keg by the rules, held, released, emptied or discarded with a reason."""

from datetime import datetime
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from kegsafe.batches.filling import FillVerdict, WantedFill, judge_fill
from kegsafe.batches.models import Batch, Fill
from kegsafe.batches.services.tapping import end_tapping
from kegsafe.equipment import services as equipment
from kegsafe.equipment.models import Keg, Place
from kegsafe.ledger.services import Recorder, create, record, take_turn
from kegsafe.rules.pour_check import declaration_as_json
from kegsafe.stock.services.decimal_places import in_places_of
from kegsafe.stock.services.moments import refuse_later_than_now


@transaction.atomic
def fill_keg(
    *,
    batch: Batch,
    keg: Keg,
    filled_at: datetime,
    volume_ml: Decimal,
    liquid_temperature_degc: Decimal,
    set_gauge_pa: Decimal,
    by: Recorder,
    gas_cycles: int = 1,
    rest_hours: int | None = None,
    accept_cross_contact: bool = False,
    place: Place | None = None,
) -> Fill:
    """Fill part of a batch into a keg, with what the rules say of it at that moment.

    `accept_cross_contact` signs that allergens the last drink left are declared
    as 'may contain'. `rest_hours` is the recipe's where left out.

    Raises ValidationError with every reason when a rule stops the fill, and
    when the batch does not hold that much.
    """
    take_turn(by)
    batch = Batch.objects.select_for_update().get(pk=batch.pk)
    _check_fill(batch, filled_at, volume_ml)
    wanted = WantedFill(
        batch=batch,
        keg=Keg.objects.select_for_update().get(pk=keg.pk),
        filled_at=filled_at,
        volume_ml=volume_ml,
        set_gauge_pa=set_gauge_pa,
        rest_hours=batch.recipe.rest_hours if rest_hours is None else rest_hours,
        accept_cross_contact=accept_cross_contact,
    )
    verdict = judge_fill(wanted, timezone.now())
    if verdict.stops:
        raise ValidationError(list(verdict.stops))
    use = equipment.begin_use(
        keg=wanted.keg,
        drink=batch.recipe.name,
        allergens=verdict.sources,
        carried_over=verdict.carried_over,
        began_at=filled_at,
        by=by,
    )
    fill = _fill(wanted, verdict, by.person)
    fill.use, fill.gas_cycles = use, gas_cycles
    measured = {"liquid_temperature_degc": liquid_temperature_degc}
    fill.liquid_temperature_degc = in_places_of(Fill, measured)["liquid_temperature_degc"]
    create(fill, by=by, action="filled")
    batch.filled_ml += fill.volume_ml
    batch.full_clean()
    batch.save()
    record(batch, by=by, action="filled into a keg", detail={"keg": wanted.keg.name})
    if place is not None:
        equipment.place_keg(keg=wanted.keg, place=place, at=filled_at, by=by)
    return fill


@transaction.atomic
def hold_fill(*, fill: Fill, reason: str, by: Recorder) -> Fill:
    """Put a keg's drink on hold: it does not pour until a manager releases it."""
    held = _locked(fill, by)
    if held.state != Fill.State.IN_KEG:
        raise ValidationError(f"This fill is {held.get_state_display().lower()} already.")
    return _set_state(held, Fill.State.ON_HOLD, reason, by, "put on hold")


@transaction.atomic
def release_fill(*, fill: Fill, reason: str, by: Recorder) -> Fill:
    """Release a drink from hold; who may do so is decided at the door."""
    held = _locked(fill, by)
    if held.state != Fill.State.ON_HOLD:
        raise ValidationError("This fill is not on hold, so there is nothing to release.")
    return _set_state(held, Fill.State.IN_KEG, reason, by, "released")


@transaction.atomic
def empty_fill(*, fill: Fill, by: Recorder, at: datetime | None = None, reason: str = "") -> Fill:
    """Record that the keg is empty; it comes off its tap."""
    reason = reason.strip() or "Poured to the end."
    return _end(fill, Fill.State.EMPTIED, reason, by, at, "emptied")


@transaction.atomic
def discard_fill(*, fill: Fill, reason: str, by: Recorder, at: datetime | None = None) -> Fill:
    """Throw away what is left, with the reason; the keg comes off its tap."""
    return _end(fill, Fill.State.DISCARDED, reason, by, at, "discarded")


def _check_fill(batch: Batch, filled_at: datetime, volume_ml: Decimal) -> None:
    refuse_later_than_now(filled_at, "filled_at")
    if filled_at < batch.made_at:
        made = batch.venue.local(batch.made_at)
        raise ValidationError(
            {"filled_at": f"The batch was made {made:%Y-%m-%d %H:%M}. Enter a time after that."}
        )
    left = batch.volume_ml - batch.filled_ml
    if volume_ml <= 0:
        raise ValidationError({"volume_ml": "A fill is more than nothing: 18 L, for example."})
    if volume_ml > left:
        raise ValidationError(
            {
                "volume_ml": f"{_litres(volume_ml)} is more than is left of the batch: "
                f"{_litres(left)}. Fill at most that."
            }
        )


def _fill(wanted: WantedFill, verdict: FillVerdict, person: str) -> Fill:
    measured = {"volume_ml": wanted.volume_ml, "set_gauge_pa": wanted.set_gauge_pa}
    accepted = verdict.left_by_last_drink if wanted.accept_cross_contact else ()
    return Fill(
        batch=wanted.batch,
        keg=wanted.keg,
        filled_at=wanted.filled_at,
        ready_from=verdict.ready_from,
        cross_contact_accepted=list(accepted),
        filled_by=person,
        use_by_at=verdict.dated.use_by,
        is_tcs=verdict.dated.tcs.treated_as_tcs,
        declaration=declaration_as_json(verdict.declaration),
        findings=[finding.as_json() for finding in verdict.findings],
        **in_places_of(Fill, measured),
    )


def _end(
    fill: Fill, state: str, reason: str, by: Recorder, at: datetime | None, action: str
) -> Fill:
    """Take a drink out of its keg: off the tap first, then out of the keg's own memory."""
    held = _locked(fill, by)
    if not held.is_open:
        raise ValidationError(f"This fill was {held.get_state_display().lower()} already.")
    ended_at = at or timezone.now()
    refuse_later_than_now(ended_at, "at")
    tapping = held.tappings.filter(ended_at=None).select_related("use").first()
    if tapping is not None:
        end_tapping(tapping, ended_at, by)
    equipment.end_use(held.use, ended_at=ended_at, by=by)
    return _set_state(held, state, reason, by, action, ended_at)


def _set_state(
    fill: Fill,
    state: str,
    reason: str,
    by: Recorder,
    action: str,
    at: datetime | None = None,
) -> Fill:
    said = reason.strip()
    if not said:
        raise ValidationError({"reason": "Say why: a few words are enough."})
    fill.state, fill.state_reason = state, said
    fill.state_by, fill.state_at = by.person, at or timezone.now()
    fill.full_clean()
    fill.save()
    record(fill, by=by, action=action, detail={"reason": said})
    return fill


def _locked(fill: Fill, by: Recorder) -> Fill:
    take_turn(by)
    return (
        Fill.objects.select_for_update(of=("self",))
        .select_related("batch__recipe", "keg", "use")
        .get(pk=fill.pk)
    )


def _litres(ml: Decimal) -> str:
    return f"{(ml / 1000).quantize(Decimal('0.01')).normalize():f} L"
