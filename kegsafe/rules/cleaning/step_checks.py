"""Is one step recorded whole, inside its limits and proved? Asked for each attempt at it."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from kegsafe.rules.cleaning.checks import (
    ask,
    contact_in_limits,
    stop,
    strength_in_limits,
    temperature_in_limits,
)
from kegsafe.rules.cleaning.chemicals import LABEL, ChemicalFacts, chemical_findings, label_silent
from kegsafe.rules.cleaning.guidance import amount
from kegsafe.rules.cleaning.limits import Use
from kegsafe.rules.cleaning.plans import Contact, PlanStep
from kegsafe.rules.cleaning.records import RecordedStep
from kegsafe.rules.cleaning.rinse_proof import rinse_findings
from kegsafe.rules.cleaning.sanitising import Solution, sanitiser_findings
from kegsafe.rules.cleaning.vocabulary import (
    Application,
    Chemistry,
    LimitFrom,
    StepKind,
    Verification,
)
from kegsafe.rules.findings import Finding, Severity
from kegsafe.science.line_hydraulics import Regime, regime, reynolds_number
from kegsafe.science.ranges import OutsideRange

RECORD = "Record of the cycle"
ROOM_DEGC = Decimal(20)  # flow is judged as cold water where no temperature was recorded

_USES = {
    Application.MACHINE_STATIONARY_RACK: Use.MACHINE_STATIONARY_RACK,
    Application.MACHINE_OTHER: Use.MACHINE_OTHER,
    Application.SURFACE_INDICATOR: Use.SURFACE_INDICATOR,
}
_TAKES = {
    Chemistry.ALKALINE: frozenset({Chemistry.ALKALINE}),
    Chemistry.ACID: frozenset({Chemistry.ACID}),
    Chemistry.DETERGENT: frozenset({Chemistry.DETERGENT, Chemistry.ALKALINE}),
    Chemistry.SANITISER: frozenset({Chemistry.SANITISER}),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class StepCase:
    """One attempt at one step, with what it is judged by."""

    step: PlanStep
    recorded: RecordedStep
    code: str
    on: date
    outlets: int
    bore_mm: Decimal | None
    is_rinsed_after: bool

    @property
    def name(self) -> str:
        """Return the solution's name, or the step's where no chemical is recorded."""
        return self.recorded.chemical.name if self.recorded.chemical else self.step.name


def step_findings(case: StepCase) -> tuple[Finding, ...]:
    """Return every finding about one attempt; a stop fails it, an ask leaves it open."""
    return tuple(finding for check in CHECKS for finding in check(case))


def times_are_recorded(case: StepCase) -> Iterator[Finding]:
    recorded = case.recorded
    if recorded.ended_at is None:
        yield ask(
            "cleaning.step_not_ended",
            f"When {case.step.name} ended is not recorded.",
            RECORD,
        )
    elif recorded.started_at is not None and recorded.ended_at < recorded.started_at:
        yield ask(
            "cleaning.times_run_backwards",
            f"{case.step.name} is recorded as ended before it began. Correct the times.",
            RECORD,
        )


def chemical_may_be_used(case: StepCase) -> Iterator[Finding]:
    wanted, chemical = case.step.chemistry, case.recorded.chemical
    if chemical is not None:
        yield from chemical_findings(chemical, case.on)
    if wanted is None:
        return
    if chemical is None:
        yield ask(
            "cleaning.chemical_not_recorded",
            f"Which chemical was used in {case.step.name} is not recorded.",
            RECORD,
        )
    elif chemical.chemistry not in _TAKES[wanted]:
        yield stop(
            "cleaning.wrong_chemical",
            f"{chemical.name} is listed as {chemical.chemistry.value}; {case.step.name} asks for "
            f"{wanted.value}. Rinse and do the step again with the right one.",
            str(case.step.citation),
            case.step.citation.verified,
        )


def strength_is_in_limits(case: StepCase) -> Iterator[Finding]:
    """The plan's own limits and the label's; the code's come with the sanitiser."""
    step, recorded = case.step, case.recorded
    if step.strength_from is LimitFrom.PLAN and step.strength is not None:
        limit = step.strength
        if recorded.strength is None:
            yield _not_recorded(case, "strength")
        else:
            yield from strength_in_limits(
                case.name,
                recorded.strength,
                limit.minimum,
                limit.maximum,
                str(limit.citation),
                limit.citation.verified,
            )
    if step.strength_from is LimitFrom.LABEL and recorded.chemical is not None:
        yield from _label_strength(case, recorded.chemical)


def _label_strength(case: StepCase, chemical: ChemicalFacts) -> Iterator[Finding]:
    minimum, maximum = chemical.label_at_least_mg_per_l, chemical.label_at_most_mg_per_l
    if minimum is None:
        yield label_silent(chemical, "strength")
    elif case.recorded.strength is None:
        yield _not_recorded(case, "strength")
    else:
        yield from strength_in_limits(
            chemical.name, case.recorded.strength, minimum, maximum, LABEL, "venue"
        )


def temperature_is_in_limits(case: StepCase) -> Iterator[Finding]:
    step, chemical = case.step, case.recorded.chemical
    if step.temperature_from is LimitFrom.PLAN and step.temperature is not None:
        yield from temperature_in_limits(
            case.name,
            case.recorded.temperature_degc,
            step.temperature.minimum,
            step.temperature.maximum,
            str(step.temperature.citation),
            step.temperature.citation.verified,
        )
    if step.temperature_from is LimitFrom.LABEL and chemical is not None:
        low, high = chemical.label_at_least_degc, chemical.label_at_most_degc
        if low is None and high is None:
            yield label_silent(chemical, "temperature")
        yield from temperature_in_limits(
            chemical.name, case.recorded.temperature_degc, low, high, LABEL, "venue"
        )


def contact_is_in_limits(case: StepCase) -> Iterator[Finding]:
    if not case.step.contacts:
        return
    contact = _contact(case)
    if contact is None:
        ways = " or ".join(each.application.value for each in case.step.contacts)
        yield ask(
            "cleaning.application_not_recorded",
            f"How the solution was applied in {case.step.name} is not recorded: {ways}.",
            RECORD,
        )
        return
    if contact.bound is not None:
        yield from contact_in_limits(
            case.name,
            case.recorded.contact_s,
            contact.bound.minimum,
            contact.bound.maximum,
            str(contact.bound.citation),
            contact.bound.citation.verified,
        )
    chemical = case.recorded.chemical
    if chemical is not None and case.step.chemistry is not Chemistry.SANITISER:
        yield from contact_in_limits(
            chemical.name, case.recorded.contact_s, chemical.label_contact_s, None, LABEL, "venue"
        )


def _contact(case: StepCase) -> Contact | None:
    """Return the contact time that counts; a step with one way of applying takes that one."""
    if case.recorded.application is not None:
        return case.step.contact_for(case.recorded.application)
    return case.step.contacts[0] if len(case.step.contacts) == 1 else None


def sanitiser_meets_the_code(case: StepCase) -> Iterator[Finding]:
    chemical = case.recorded.chemical
    if case.step.kind is not StepKind.SANITISE or chemical is None:
        return
    if chemical.chemistry is not Chemistry.SANITISER:
        return
    recorded = case.recorded
    applied = recorded.application or Application.IMMERSION
    solution = Solution(
        chemical=chemical,
        strength=recorded.strength,
        temperature_degc=recorded.temperature_degc,
        ph=recorded.ph,
        hardness_mg_per_l=recorded.hardness_mg_per_l,
        contact_s=recorded.contact_s,
        use=_USES.get(applied, Use.IMMERSION),
        is_rinsed_after=case.is_rinsed_after,
    )
    yield from sanitiser_findings(solution, case.code, case.on)


def flow_is_known(case: StepCase) -> Iterator[Finding]:
    """No source sets a least flow for beverage line: a slow one is said, never failed."""
    limit, flow = case.step.flow, case.recorded.flow_l_min
    if limit is None or case.recorded.application is not Application.CIRCULATED:
        return
    source, verified = str(limit.citation), limit.citation.verified
    if flow is None:
        statement = (
            f"The flow in {case.step.name} was not recorded. Time a jug: seconds for a litre."
        )
        yield Finding("cleaning.flow_not_recorded", Severity.WARN, statement, source, verified)
        return
    if limit.maximum is not None and flow > limit.maximum:
        statement = (
            f"The flow was {amount(flow, 'l/min')}; the guidance pumps up to "
            f"{amount(limit.maximum, 'l/min')}. Look at the joints for leaks."
        )
        yield Finding("cleaning.flow_high", Severity.WARN, statement, source, verified)
    yield from _scouring_findings(case, flow)


def _scouring_findings(case: StepCase, flow: Decimal) -> Iterator[Finding]:
    if case.bore_mm is None:
        return
    degc = case.recorded.temperature_degc
    try:
        moves = regime(
            reynolds_number(
                float(flow), float(case.bore_mm), float(ROOM_DEGC if degc is None else degc)
            )
        )
    except OutsideRange:
        return
    if moves is not Regime.TURBULENT:
        yield Finding(
            "cleaning.flow_does_not_scour",
            Severity.WARN,
            f"{amount(flow, 'l/min')} is too slow to scour a {case.bore_mm.normalize():f} mm line. "
            "Pump faster.",
            "Plant-cleaning text: turbulent above a Reynolds number of 4000",
            "second-hand",
        )


def step_is_proved(case: StepCase) -> Iterator[Finding]:
    step, recorded = case.step, case.recorded
    if step.verification is Verification.TAP_WATER_PH and step.ph_tolerance is not None:
        yield from rinse_findings(step.ph_tolerance, recorded, case.outlets)
    if step.verification not in (Verification.LOOKED_AT, Verification.ALLERGEN_TEST):
        return
    what = "look" if step.verification is Verification.LOOKED_AT else "allergen test"
    if recorded.passed is None:
        yield ask(
            "cleaning.check_not_recorded",
            f"The {what} at {step.name} is not recorded.",
            RECORD,
        )
    elif not recorded.passed:
        yield stop(
            "cleaning.check_failed",
            f"The {what} at {step.name} did not pass. Clean again from the detergent on.",
            str(step.citation),
            step.citation.verified,
        )


CHECKS: tuple[Callable[[StepCase], Iterator[Finding]], ...] = (
    times_are_recorded,
    chemical_may_be_used,
    strength_is_in_limits,
    temperature_is_in_limits,
    contact_is_in_limits,
    sanitiser_meets_the_code,
    flow_is_known,
    step_is_proved,
)


def _not_recorded(case: StepCase, what: str) -> Finding:
    return ask(
        f"cleaning.{what}_not_recorded",
        f"The {what} of {case.name} was not recorded. Measure it and record it.",
        RECORD,
    )
