"""A venue's copy of a plan beside the starter: stricter at will, never looser than the law.

What rests on law or a model code may not be loosened here. What rests on trade guidance, on
the house's reading or on practice may be, and is then shown as the venue's own decision.
Two things stand whatever their basis: detergent is rinsed and the rinse is proved, and
pressure is relieved before anything is opened.
"""

from collections.abc import Iterator
from itertools import pairwise

from kegsafe.rules.cleaning.guidance import Basis, Bound, Citation
from kegsafe.rules.cleaning.intervals import Every, Interval
from kegsafe.rules.cleaning.plans import Approval, Plan, PlanStep
from kegsafe.rules.cleaning.vocabulary import Chemistry, LimitFrom, StepKind, Verification
from kegsafe.rules.findings import Finding, Severity, gravest_first

_COUNTED = (Every.DAY, Every.HOUR, Every.FILL, Every.USE, Every.IDLE_DAY)


def plan_findings(plan: Plan) -> tuple[Finding, ...]:
    """Return what is unsound in a plan taken alone; a stop means it may not be used."""
    return gravest_first(
        [*_has_steps(plan), *_detergent_is_rinsed(plan), *_pressure_first(plan), *_sanitised(plan)]
    )


def copy_findings(copy: Plan, starter: Plan) -> tuple[Finding, ...]:
    """Return what is unsound in a venue's copy, and where it is looser than its starter.

    A stop means that the copy may not be used; a warning names the venue's own decision.
    """
    return gravest_first(
        [
            *plan_findings(copy),
            *_steps_kept(copy, starter),
            *_limits_kept(copy, starter),
            *_intervals_kept(copy, starter),
            *_promises_kept(copy, starter),
        ]
    )


def _has_steps(plan: Plan) -> Iterator[Finding]:
    if not plan.steps:
        yield _unsound("plan.no_steps", f"{plan.name} has no steps. Copy them from the starter.")
    if [step.position for step in plan.steps] != list(range(1, len(plan.steps) + 1)):
        yield _unsound("plan.positions", f"Number the steps of {plan.name} 1, 2, 3 without gaps.")


def _detergent_is_rinsed(plan: Plan) -> Iterator[Finding]:
    """What goes in comes out before anything else goes in; in a line, by the pH."""
    for step, following in pairwise((*plan.steps, None)):
        if step is None or step.kind is not StepKind.DETERGENT:
            continue
        name = _opening(step)
        if following is None or following.kind is not StepKind.RINSE:
            yield _unsound(
                "plan.detergent_not_rinsed",
                f"{name} of {plan.name} is not followed by a rinse. Put a rinse after it.",
            )
        elif _hides_what_is_left(plan, step) and not _proves_ph(following):
            yield _unsound(
                "plan.rinse_not_proved",
                f"The rinse after {step.name} of {plan.name} is not proved. Let it end with the "
                "pH back at the tap water's own.",
            )


def _hides_what_is_left(plan: Plan, step: PlanStep) -> bool:
    """Whether nobody can see what a detergent left: in a line, and after caustic or acid."""
    strong = step.chemistry in (Chemistry.ALKALINE, Chemistry.ACID)
    return plan.equipment.has_outlets or strong


def _proves_ph(step: PlanStep) -> bool:
    return step.verification is Verification.TAP_WATER_PH and step.ph_tolerance is not None


def _pressure_first(plan: Plan) -> Iterator[Finding]:
    if not plan.equipment.holds_pressure:
        return
    if not plan.steps or plan.steps[0].kind is not StepKind.DEPRESSURISE:
        yield _unsound(
            "plan.pressure_not_relieved",
            f"{plan.name} does not begin with relieving the pressure. Put that step first.",
        )


def _sanitised(plan: Plan) -> Iterator[Finding]:
    washed = [step.position for step in plan.steps if step.kind is StepKind.DETERGENT]
    sanitised = [step.position for step in plan.steps if step.kind is StepKind.SANITISE]
    if not washed or (sanitised and max(sanitised) > max(washed)):
        return
    allowed = plan.without_sanitising
    yield Finding(
        "plan.not_sanitised",
        Severity.WARN,
        f"{plan.name} does not sanitise after the detergent. The model code asks for it; the "
        f"trade's guidance for beer lines does not. {_allowed_by(allowed)}",
        "FDA Food Code, as adopted by Maine (part 4-7), 4-702.11",
        "read",
    )


def _allowed_by(approval: Approval | None) -> str:
    if approval is None:
        return "Ask the local authority."
    return (
        f"On record as allowed by {approval.authority} ({approval.reference}, "
        f"{approval.approved_on}): {approval.reason}"
    )


def _steps_kept(copy: Plan, starter: Plan) -> Iterator[Finding]:
    """Each kind of step the starter asks for is there as often, or its absence is said."""
    left = list(copy.steps)
    for step in starter.steps:
        match = next((each for each in left if _does_the_same(each, step)), None)
        if match is not None:
            left.remove(match)
            continue
        yield _left_out(copy, step)


def _left_out(copy: Plan, step: PlanStep) -> Finding:
    """The sanitise step alone may be left out though a code asks for it, with an approval."""
    rule, statement = "plan.step_left_out", f"{copy.name} leaves out {step.name}."
    if step.kind is StepKind.SANITISE and copy.without_sanitising is not None:
        return Finding(
            rule,
            Severity.WARN,
            f"{statement} {_allowed_by(copy.without_sanitising)}",
            str(step.citation),
            step.citation.verified,
        )
    return _looser(rule, f"{statement[:-1]}: {step.instruction}", step.citation)


def _does_the_same(one: PlanStep, other: PlanStep) -> bool:
    return one.kind is other.kind and one.chemistry is other.chemistry


def _limits_kept(copy: Plan, starter: Plan) -> Iterator[Finding]:
    for step, own in _pairs(copy, starter):
        yield from _bound_kept(copy, step, "strength", own.strength, step.strength)
        yield from _bound_kept(copy, step, "temperature", own.temperature, step.temperature)
        yield from _bound_kept(copy, step, "pH tolerance", own.ph_tolerance, step.ph_tolerance)
        for contact in own.contacts:
            there = step.contact_for(contact.application)
            yield from _bound_kept(
                copy, step, "contact time", contact.bound, there.bound if there else None
            )
        yield from _code_kept(copy, step, own)


def _pairs(copy: Plan, starter: Plan) -> Iterator[tuple[PlanStep, PlanStep]]:
    """Yield each step of the starter with the copy's step that stands for it."""
    left = list(copy.steps)
    for step in starter.steps:
        match = next((each for each in left if _does_the_same(each, step)), None)
        if match is not None:
            left.remove(match)
            yield step, match


def _bound_kept(
    copy: Plan, step: PlanStep, what: str, own: Bound | None, starter: Bound | None
) -> Iterator[Finding]:
    if starter is None or (own is not None and _is_as_strict(own, starter)):
        return
    said = own.in_words if own is not None else "no limit"
    yield _looser(
        "plan.limit_looser",
        f"{copy.name}, {step.name}: {what} {said}; the starter has {starter.in_words}.",
        starter.citation,
    )


def _is_as_strict(own: Bound, starter: Bound) -> bool:
    low = starter.minimum is None or (own.minimum is not None and own.minimum >= starter.minimum)
    high = starter.maximum is None or (own.maximum is not None and own.maximum <= starter.maximum)
    return own.unit == starter.unit and low and high


def _code_kept(copy: Plan, step: PlanStep, own: PlanStep) -> Iterator[Finding]:
    """A limit that the code sets stays the code's, whatever else the plan adds."""
    for what, starter_from, own_from in (
        ("strength", step.strength_from, own.strength_from),
        ("temperature", step.temperature_from, own.temperature_from),
    ):
        if starter_from is LimitFrom.CODE and own_from is LimitFrom.NOBODY:
            yield _looser(
                "plan.limit_looser",
                f"{copy.name}, {step.name}: nobody sets the {what}; the starter leaves it to the "
                "code.",
                step.citation,
            )


def _intervals_kept(copy: Plan, starter: Plan) -> Iterator[Finding]:
    for interval in starter.intervals:
        if interval.every is None:
            continue
        if not any(_is_as_often(own, interval) for own in copy.intervals):
            yield _looser(
                "plan.interval_looser",
                f"{copy.name} is owed less often than the starter: {interval.in_words}.",
                interval.citation,
            )


def _is_as_often(own: Interval, starter: Interval) -> bool:
    if own.every is None or starter.every is None:
        return False
    if own.unit is starter.unit and starter.unit in _COUNTED:
        return own.every <= starter.every
    if (own.unit, starter.unit) == (Every.HOUR, Every.DAY):
        return own.every <= 24 * starter.every
    return own.unit is starter.unit


def _promises_kept(copy: Plan, starter: Plan) -> Iterator[Finding]:
    """An allergen clean that nobody tested, or one person signed twice, is none."""
    if copy.is_allergen_clean and not any(
        step.verification is Verification.ALLERGEN_TEST for step in copy.steps
    ):
        yield _unsound(
            "plan.allergen_clean_not_tested",
            f"{copy.name} is marked as an allergen clean but tests for no allergen. Add the test, "
            "or take the mark off.",
        )
    if starter.needs_second_person and not copy.needs_second_person:
        yield _looser(
            "plan.second_person_left_out",
            f"{copy.name} asks for one person; the starter asks for a second one to check.",
            starter.citation,
        )


def _looser(rule: str, statement: str, citation: Citation) -> Finding:
    """A stop below law or model code, else a warning that names whose decision it is."""
    if citation.basis.binds:
        ending = f"This rests on {citation.basis.in_words} and may not be loosened here."
        return Finding(
            rule, Severity.STOP, f"{statement} {ending}", str(citation), citation.verified
        )
    ending = f"This rests on {_resting_on(citation.basis)}: the venue's own decision."
    return Finding(rule, Severity.WARN, f"{statement} {ending}", str(citation), citation.verified)


def _resting_on(basis: Basis) -> str:
    return "practice without a source" if basis is Basis.COMMON_PRACTICE else basis.in_words


def _unsound(rule: str, statement: str) -> Finding:
    return Finding(rule, Severity.STOP, statement, "House rule after published accidents", "house")


def _opening(step: PlanStep) -> str:
    return step.name[0].upper() + step.name[1:]
