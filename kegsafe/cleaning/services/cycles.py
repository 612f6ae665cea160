"""Beginning a cycle on one or many pieces, closing it with its verdict, and giving it up."""

import uuid
from collections.abc import Sequence
from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from kegsafe.cleaning.judging import verdict_of
from kegsafe.cleaning.models import CleaningPlan, CleanItem, Cycle
from kegsafe.cleaning.models.equipment import SORTS, equipment_of, sort_of
from kegsafe.cleaning.services.latest import remember_latest
from kegsafe.cleaning.services.line_events import store_event
from kegsafe.cleaning.services.proved_clean import keep_record
from kegsafe.equipment.models import Keg, Line, Service, Tap
from kegsafe.ledger.services import Recorder, create, record, take_turn
from kegsafe.rules.cleaning.line_state import LineEventKind
from kegsafe.venues.models import Venue

Piece = Keg | Line | Tap | CleanItem


@transaction.atomic
def start_circuit(
    *,
    venue: Venue,
    plan: CleaningPlan,
    pieces: Sequence[Piece],
    circuit: uuid.UUID,
    by: Recorder,
    started_at: datetime | None = None,
) -> list[Cycle]:
    """Begin the same cycle on several pieces, one cycle each, all of them or none.

    `circuit` is chosen by the page: sent again, the cycles it began are returned as they are.
    Raises ValidationError for a piece that cannot be cleaned now, saying why.
    """
    take_turn(by)
    sent_before = Cycle.objects.filter(venue=venue, circuit=circuit).order_by("pk")
    if sent_before:
        return list(sent_before)
    if not pieces:
        raise ValidationError("Choose at least one piece of equipment.")
    now = timezone.now()
    if started_at is not None and started_at > now:
        raise ValidationError({"started_at": "This time is still to come."})
    return [_start(venue, plan, piece, circuit, started_at or now, by) for piece in pieces]


@transaction.atomic
def verify_cycle(*, cycle: Cycle, by: Recorder) -> Cycle:
    """Sign as the second person that a cycle was checked.

    Raises ValidationError for the person who cleaned.
    """
    take_turn(by)
    locked = _locked(cycle)
    if by.person.casefold() == locked.operator.casefold():
        raise ValidationError(f"{by.person} cleaned. Somebody else signs the check.")
    locked.verified_by = by.person
    locked.full_clean()
    locked.save()
    record(locked, by=by, action="checked by a second person")
    return close_cycle(cycle=locked, by=by) if locked.ended_at is not None else locked


@transaction.atomic
def close_cycle(*, cycle: Cycle, by: Recorder) -> Cycle:
    """Judge a cycle and store the verdict; one already closed is judged again by the same rules.

    Where it counts, a keg or a line also gets its dated record, which the fill check, the pour
    check and the memory of allergens read.
    """
    take_turn(by)
    locked = _locked(cycle)
    was_open = locked.ended_at is None
    if locked.result == Cycle.Result.GIVEN_UP:
        return locked
    verdict = verdict_of(locked)
    if not was_open and locked.result == verdict.result.value:
        return locked
    locked.ended_at = _last_moment(locked)
    locked.result, locked.verdict = verdict.result.value, verdict.as_json()
    locked.given_up_because = ""
    keep_record(locked, counts=verdict.counts, by=by)
    locked.full_clean()
    locked.save()
    record(locked, by=by, action=f"closed: {locked.get_result_display().lower()}")
    _end_on_line(locked, was_open=was_open, by=by)
    remember_latest(locked)
    return locked


@transaction.atomic
def give_up_cycle(*, cycle: Cycle, reason: str, by: Recorder) -> Cycle:
    """Record that a cycle is not gone on with. What is in a line stays in it until it is rinsed."""
    take_turn(by)
    locked = _locked(cycle)
    if locked.ended_at is not None:
        return locked
    if not reason.strip():
        raise ValidationError({"reason": "Say why: a few words are enough."})
    locked.ended_at, locked.result = timezone.now(), Cycle.Result.GIVEN_UP
    locked.given_up_because = reason.strip()
    locked.full_clean()
    locked.save()
    record(locked, by=by, action="given up", detail={"reason": reason.strip()})
    _end_on_line(locked, was_open=True, by=by)
    remember_latest(locked)
    return locked


def _start(
    venue: Venue,
    plan: CleaningPlan,
    piece: Piece,
    circuit: uuid.UUID,
    started_at: datetime,
    by: Recorder,
) -> Cycle:
    _check_belongs(venue, plan, piece)
    piece = type(piece).objects.select_for_update().get(pk=piece.pk)
    _check_may_start(piece, started_at)
    cycle = Cycle(
        venue=venue,
        circuit=circuit,
        plan=plan,
        code_key=venue.code_key,
        day=started_at.astimezone(venue.zone).date(),
        operator=by.person,
        outlets=_outlets(piece),
        bore_mm=piece.inner_diameter_mm if isinstance(piece, Line) else None,
        started_at=started_at,
        **{sort_of(piece): piece},
    )
    create(cycle, by=by, action="cleaning began")
    store_event(cycle=cycle, kind=LineEventKind.CLEANING_BEGAN, at=started_at, by=by)
    return cycle


def _check_belongs(venue: Venue, plan: CleaningPlan, piece: Piece) -> None:
    if venue.pk not in {piece.venue_id} or plan.venue_id != venue.pk:
        raise ValueError(f"{piece} and {plan} do not both belong to {venue}")
    if plan.replaced_on is not None:
        raise ValidationError(f"{plan.name} was changed meanwhile. Choose it again from the list.")
    if plan.equipment != equipment_of(piece):
        raise ValidationError(f"{plan.name} is for a {plan.equipment}, and {piece} is none.")


def _check_may_start(piece: Piece, started_at: datetime) -> None:
    """A line may be cleaned with its keg still on record: it is taken off at the first step."""
    if isinstance(piece, Keg | Line) and piece.service == Service.SCRAPPED:
        raise ValidationError(f"{piece} was scrapped.")
    if isinstance(piece, Keg):
        held = piece.uses.filter(ended_at=None).first()
        if held is not None:
            raise ValidationError(f"{piece} still holds {held.drink}: empty it first.")
    going_on = Cycle.objects.filter(**{sort_of(piece): piece}, ended_at=None).first()
    if going_on is not None:
        raise ValidationError(
            f"{piece} is being cleaned already, by {going_on.operator}. Go on with that cycle, or "
            "record there that it was given up."
        )


def _outlets(piece: Piece) -> int:
    """Return how many taps are read after a rinse: an inactive one counts, its leg is there."""
    return max(1, piece.taps.count()) if isinstance(piece, Line) else 1


def _locked(cycle: Cycle) -> Cycle:
    related = ("plan", "venue", *SORTS)
    return Cycle.objects.select_for_update(of=("self",)).select_related(*related).get(pk=cycle.pk)


def _last_moment(cycle: Cycle) -> datetime:
    """Return when the last step on record ended; now for a cycle without any."""
    ended = cycle.steps.exclude(ended_at=None).order_by("-ended_at").first()
    moment = ended.ended_at if ended is not None else None
    return max(moment or timezone.now(), cycle.started_at)


def _end_on_line(cycle: Cycle, *, was_open: bool, by: Recorder) -> None:
    if was_open:
        store_event(cycle=cycle, kind=LineEventKind.CLEANING_ENDED, at=timezone.now(), by=by)
