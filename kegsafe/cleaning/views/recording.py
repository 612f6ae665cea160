"""Recording cycles with one hand: begin a circuit, go from stage to stage, end it."""

import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import Model
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from kegsafe.cleaning import services
from kegsafe.cleaning.dilution import (
    DEFAULT_BUCKET_ML,
    Volume,
    caustic_losses,
    dose_of,
    volume_of,
)
from kegsafe.cleaning.forms.give_up import GiveUpForm
from kegsafe.cleaning.forms.stage import Outlets, StageForm
from kegsafe.cleaning.forms.start import FindPlanForm, PiecesForm
from kegsafe.cleaning.judging import facts_of, verdict_of
from kegsafe.cleaning.models import ChemicalBatch, CleaningPlan, Cycle
from kegsafe.cleaning.models.equipment import equipment_of
from kegsafe.cleaning.queries import due_of, line_states, piece_key, pieces_of
from kegsafe.cleaning.queries.circuits import (
    batches_for,
    circuit_cycles,
    seen_of,
    takes_hot_water,
    tap_water_lately,
    tap_water_reading,
)
from kegsafe.cleaning.stages import Stage, UnknownStage, next_stage, stage_called, stage_from
from kegsafe.ledger.forms import errors_shown_in
from kegsafe.rules.cleaning.caustic_loss import SOURCE, UNCERTAINTY
from kegsafe.rules.cleaning.contact_time import Timer, least_contact_s
from kegsafe.rules.cleaning.guidance import amount
from kegsafe.rules.cleaning.mixing import Mix
from kegsafe.rules.cleaning.plans import Caution, Plan, PlanStep, cautions
from kegsafe.rules.cleaning.readings import Reading
from kegsafe.rules.cleaning.vocabulary import Application, StepKind
from kegsafe.venues.access import EVERYBODY, NOBODY, RECORDERS, VenueRequest, page

_GONE = "This page is of another version of the plan. Open the cycle again."
_GOES_IN = {StepKind.DETERGENT: "detergent", StepKind.SANITISE: "sanitiser"}


@dataclass(frozen=True, slots=True)
class Dose:
    """What to measure of one batch, or why nothing can be worked out."""

    batch: ChemicalBatch
    mix: Mix | None
    words: str


@page(read=RECORDERS, post=RECORDERS)
def start(request: VenueRequest) -> HttpResponse:
    """Choose what is cleaned, and begin with the first stage of its plan."""
    plans = list(CleaningPlan.objects.filter(venue=request.venue, replaced_on=None))
    pieces = pieces_of(request.venue)
    chosen = request.GET.getlist("piece")
    plan = _plan_for(request, plans, pieces, chosen)
    if plan is None:
        return render(request, "cleaning/start.html", {"plans": plans, "pieces": pieces})
    fitting = [each for each in pieces if equipment_of(each) == plan.equipment]
    if request.GET.get("all"):
        chosen = [piece_key(each) for each in fitting]
    which = PiecesForm(request.POST or None, of=fitting, chosen=chosen)
    stage = stage_from(plan.as_rules().steps)
    form = _stage_form(request, stage)
    if which.is_valid() and form.is_valid():
        with errors_shown_in(which):
            cycles = services.start_with_stage(
                venue=request.venue,
                plan=plan,
                pieces=which.chosen(),
                stage=stage,
                sent=form.record(),
                key=form.cleaned_data["key"],
                by=request.membership.recorder,
            )
            return redirect("circuit", cycles[0].circuit)
    ticked = [each for each in fitting if piece_key(each) in set(which["pieces"].value() or [])]
    context = {
        "plan": plan,
        "which": which,
        "form": form,
        "find": FindPlanForm(initial={"plan": str(plan.pk)}, plans=plans),
        **_stage_context(stage, form, ticked, plan.as_rules()),
    }
    return render(request, "cleaning/start.html", context)


@page(read=EVERYBODY, post=RECORDERS)
def circuit(request: VenueRequest, circuit: uuid.UUID) -> HttpResponse:
    """Show how far the cycles of a circuit are, and record the next stage of them all."""
    cycles = circuit_cycles(request.venue, circuit)
    if not cycles:
        raise Http404
    acting = [cycle for cycle in cycles if cycle.is_open] or cycles
    plan = cycles[0].plan.as_rules()
    form = None
    if request.method == "POST":
        form = _sent_stage(request, plan, acting)
        if form.is_valid():
            with errors_shown_in(form):
                _record(request, acting, form)
                return redirect("circuit", circuit)
    return _show(request, cycles, plan, form)


@page(read=RECORDERS, post=RECORDERS)
def give_up(request: VenueRequest, circuit: uuid.UUID) -> HttpResponse:
    """Record that the cycles of a circuit are not gone on with."""
    cycles = [each for each in circuit_cycles(request.venue, circuit) if each.is_open]
    if not cycles:
        raise Http404
    form = GiveUpForm(request.POST or None)
    if form.is_valid():
        with errors_shown_in(form):
            for cycle in cycles:
                services.give_up_cycle(
                    cycle=cycle,
                    reason=form.cleaned_data["reason"],
                    by=request.membership.recorder,
                )
            messages.warning(request, "Recorded: given up. A chemical in a line stays in it.")
            return redirect("circuit", circuit)
    return render(request, "cleaning/give_up.html", {"form": form, "cycles": cycles})


@page(read=NOBODY, post=RECORDERS)
def sign(request: VenueRequest, circuit: uuid.UUID) -> HttpResponse:
    """Sign as the second person for every cycle of a circuit."""
    cycles = circuit_cycles(request.venue, circuit)
    if not cycles:
        raise Http404
    try:
        for cycle in cycles:
            services.verify_cycle(cycle=cycle, by=request.membership.recorder)
    except ValidationError as refused:
        messages.error(request, " ".join(refused.messages))
    return redirect("circuit", circuit)


@page(read=NOBODY, post=RECORDERS)
def finish(request: VenueRequest, circuit: uuid.UUID) -> HttpResponse:
    """Close the cycles of a circuit as they stand on record, and say what each is worth."""
    cycles = circuit_cycles(request.venue, circuit)
    if not cycles:
        raise Http404
    for cycle in cycles:
        if cycle.is_open:
            services.close_cycle(cycle=cycle, by=request.membership.recorder)
    return redirect("circuit", circuit)


def _plan_for(
    request: VenueRequest,
    plans: Sequence[CleaningPlan],
    pieces: Sequence[Model],
    chosen: Sequence[str],
) -> CleaningPlan | None:
    """Return the plan that was chosen; else the one most pressing for the piece one came from."""
    asked = request.POST.get("plan") or request.GET.get("plan") or ""
    found = next((plan for plan in plans if str(plan.pk) == asked), None)
    if found is not None or not chosen:
        return found
    pressing = due_of(request.venue, timezone.now(), only=chosen)
    if pressing:
        return pressing[0].plan
    kinds = {equipment_of(piece) for piece in pieces if piece_key(piece) in chosen}
    return next((plan for plan in plans if plan.equipment in kinds), None)


def _stage_form(request: VenueRequest, stage: Stage, cycles: Sequence[Cycle] = ()) -> StageForm:
    step = stage.begins
    reading = tap_water_reading(tap_water_lately(request.venue, timezone.now()))
    used = _batch_in_use(cycles, stage)
    return StageForm(
        request.POST if request.method == "POST" else None,
        of=stage,
        outlets=[Outlets(cycle.pk, str(cycle.piece), cycle.outlets) for cycle in cycles],
        batches=batches_for(request.venue, step) if step else (),
        takes_hot_water=step is not None and takes_hot_water(step),
        seen=seen_of(cycle.line_id for cycle in cycles if cycle.line_id),
        tap_water=_as_typed(reading),
        dosed=_dosed(cycles, stage, used),
        used=used,
    )


def _sent_stage(request: VenueRequest, plan: Plan, cycles: Sequence[Cycle]) -> StageForm:
    """Return the form of the stage that the page was of, which may not be the next one now."""
    try:
        return _stage_form(request, stage_called(request.POST.get("stage", ""), plan), cycles)
    except UnknownStage:
        form = _stage_form(request, Stage(), cycles)
        form.add_error(None, _GONE)
        return form


def _record(request: VenueRequest, cycles: Sequence[Cycle], form: StageForm) -> None:
    services.record_stage(
        cycles=cycles,
        stage=form.of,
        sent=form.record(),
        key=form.cleaned_data["key"],
        seen=form.cleaned_data["seen"],
        by=request.membership.recorder,
    )


def _show(
    request: VenueRequest, cycles: Sequence[Cycle], plan: Plan, form: StageForm | None
) -> HttpResponse:
    going_on = [cycle for cycle in cycles if cycle.is_open]
    stage = form.of if form is not None else _next(request, plan, going_on)
    if form is None and stage is not None:
        form = _stage_form(request, stage, going_on)
    pieces = [cycle.piece for cycle in cycles]
    states = line_states([cycle.line_id for cycle in cycles if cycle.line_id])
    context = {
        "cycles": cycles,
        "plan": cycles[0].plan,
        "first": cycles[0],
        "going_on": going_on,
        "form": form,
        "steps": _steps_shown(plan, going_on or cycles),
        "findings": _findings(going_on),
        "line_findings": [
            finding
            for cycle in cycles
            if cycle.line_id
            for finding in states[cycle.line_id].findings(str(cycle.piece))
        ],
        "timer": _timer(going_on, stage, plan),
        "now": timezone.now(),
        "may_record": request.membership.role in RECORDERS,
        "waits_for_second": plan.needs_second_person and not cycles[0].verified_by,
    }
    if stage is not None:
        context |= _stage_context(stage, form, pieces, plan)
    return render(request, "cleaning/circuit.html", context)


def _next(request: VenueRequest, plan: Plan, going_on: Sequence[Cycle]) -> Stage | None:
    """Return the next stage, or the one somebody wants to do again."""
    if not going_on:
        return None
    again = request.GET.get("again", "")
    steps = [step for step in plan.steps if str(step.position) == again]
    if steps:
        return stage_from(steps)
    stages = [
        next_stage(plan, [each.as_recorded() for each in cycle.steps.all()], cycle.outlets)
        for cycle in going_on
    ]
    left = [stage for stage in stages if stage is not None]
    return min(left, key=lambda stage: stage.steps[0].position, default=None)


def _stage_context(
    stage: Stage, form: StageForm, pieces: Sequence[Model], plan: Plan
) -> dict[str, object]:
    volume = volume_of(pieces, DEFAULT_BUCKET_ML)
    known = cautions()
    keys = dict.fromkeys(key for step in stage.steps for key in step.cautions)
    shown: list[Caution] = [known[key] for key in keys]
    return {
        "stage": stage,
        "stage_cautions": [f"{caution.text} ({caution.source})" for caution in shown],
        "last_step": plan.steps[-1].position,
        "goes_in": _GOES_IN.get(stage.begins.kind) if stage.begins else "",
        "comes_out": _GOES_IN.get(stage.ends.kind) if stage.ends else "",
        "volume": volume,
        "bucket_ml": DEFAULT_BUCKET_ML,
        "doses": _doses(stage, form.batches, volume),
        "losses": caustic_losses(pieces, stage.begins, form.batches, timezone.localdate()),
        "loss_uncertainty": UNCERTAINTY,
        "loss_source": SOURCE,
        "bands": form.bands(),
    }


def _doses(stage: Stage, batches: Sequence[ChemicalBatch], volume: Volume) -> list[Dose]:
    if stage.begins is None:
        return []
    today = timezone.localdate()
    found = [(batch, dose_of(stage.begins, batch, volume.total_ml, today)) for batch in batches]
    return [
        Dose(batch, dose, dose.in_words) if isinstance(dose, Mix) else Dose(batch, None, dose)
        for batch, dose in found
    ]


def _batch_in_use(cycles: Sequence[Cycle], stage: Stage) -> ChemicalBatch | None:
    if stage.ends is None or not cycles:
        return None
    steps = [each for each in cycles[0].steps.all() if each.position == stage.ends.position]
    return steps[-1].chemical if steps else None


def _dosed(cycles: Sequence[Cycle], stage: Stage, used: ChemicalBatch | None) -> str:
    """Return the strength that was dosed, as text; a sanitiser is read, never taken as dosed."""
    if used is None or stage.ends is None or stage.ends.kind is not StepKind.DETERGENT:
        return ""
    volume = volume_of([cycle.piece for cycle in cycles], DEFAULT_BUCKET_ML)
    dose = dose_of(stage.ends, used, volume.total_ml, timezone.localdate())
    return amount(_hundreds(dose.strength_mg_per_l), "mg/l") if isinstance(dose, Mix) else ""


def _hundreds(strength: Decimal) -> Decimal:
    return (
        strength.quantize(Decimal(1)) if strength < 10_000 else round(strength / 100) * Decimal(100)
    )


def _as_typed(reading: Reading | None) -> str:
    """Return a reading the way a person would type it."""
    if reading is None:
        return ""
    low = f"{reading.lowest.normalize():f}"
    if reading.highest is None:
        return f"{low} or more"
    high = f"{reading.highest.normalize():f}"
    return low if low == high else f"{low} to {high}"


def _timer(cycles: Sequence[Cycle], stage: Stage | None, plan: Plan) -> Timer | None:
    """Return the running timer: from what is stored and the clock, so nothing can lose it."""
    if stage is None or stage.ends is None or not cycles:
        return None
    cycle, step = cycles[0], stage.ends
    running = [each for each in cycle.steps.all() if each.position == step.position]
    if not running or running[-1].started_at is None:
        return None
    attempt = running[-1]
    facts = attempt.chemical_facts()
    way = attempt.application or (step.contacts[0].application.value if step.contacts else "")
    least = None
    if facts is not None and way:
        least = least_contact_s(step, Application(way), facts, cycle.code_key, cycle.day)
    contact = step.contact_for(Application(way)) if way else None
    most = contact.bound.maximum if contact and contact.bound else None
    return Timer(attempt.started_at, int(least or 0), int(most) if most is not None else None)


@dataclass(frozen=True, slots=True)
class ShownStep:
    """One line of the checklist."""

    step: PlanStep
    began_at: datetime | None
    ended_at: datetime | None
    by: str
    attempts: int


def _steps_shown(plan: Plan, cycles: Sequence[Cycle]) -> list[ShownStep]:
    recorded = list(cycles[0].steps.all())
    shown = []
    for step in plan.steps:
        attempts = [each for each in recorded if each.position == step.position]
        last = attempts[-1] if attempts else None
        shown.append(
            ShownStep(
                step,
                last.started_at if last else None,
                last.ended_at if last else None,
                (last.ended_by or last.recorded_by) if last else "",
                len(attempts),
            )
        )
    return shown


def _findings(going_on: Sequence[Cycle]) -> list[tuple[str, str]]:
    """Return what has broken a limit so far in the cycles that go on: the piece and what it was."""
    return [
        (str(cycle.piece), sentence)
        for cycle in going_on
        if facts_of(cycle).recorded
        for sentence in verdict_of(cycle).broken
    ]
