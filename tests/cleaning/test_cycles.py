"""Cycles through the services: what counts, what it leaves behind, and what is refused."""

import uuid
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from kegsafe.cleaning import services
from kegsafe.cleaning.judging import verdict_of
from kegsafe.cleaning.models import CleaningRecord, Cycle, CycleStep, LatestCycles
from kegsafe.cleaning.queries import history_of, line_states
from kegsafe.cleaning.services import Measured
from kegsafe.equipment.services import begin_use, end_use
from kegsafe.ledger.models import Chain
from kegsafe.ledger.queries import history
from kegsafe.ledger.verification import verify_chain, verify_records
from kegsafe.rules.cleaning.line_state import LineCondition
from kegsafe.rules.cleaning.plans import plans
from kegsafe.rules.cleaning.readings import Reading
from kegsafe.rules.findings import Severity
from tests.builders import a_keg, a_line, a_recorder, a_tap, a_venue
from tests.cleaning.cycle_acts import Cleaner, a_plan

pytestmark = pytest.mark.django_db


@pytest.fixture
def venue():
    return a_venue()


@pytest.fixture
def jonas(venue):
    return Cleaner(venue)


@pytest.fixture
def line(venue):
    return a_line(venue, name="3")


def _condition(line):
    return line_states([line.pk])[line.pk].condition


def _ledger_holds(venue):
    chain = Chain.objects.get(pk=venue.chain_id)
    return not verify_chain(chain).broken and list(verify_records()) == []


def test_a_whole_cycle_of_a_line_counts_and_leaves_a_dated_record(venue, jonas, line):
    (cycle,) = jonas.starts(a_plan(venue), line)
    closed = jonas.does_all(cycle)
    assert closed.result == "complete", closed.verdict
    record = CleaningRecord.objects.get()
    assert (record.line, record.cleaned_at, record.sanitised) == (line, closed.ended_at, True)
    assert closed.record == record
    assert not record.removes_allergens
    assert _condition(line) is LineCondition.READY
    assert _ledger_holds(venue)


@pytest.mark.parametrize("key", sorted(plans()))
def test_every_starter_plan_can_be_taken_up_and_worked_through(venue, jonas, key):
    plan = a_plan(venue, key)
    piece = _a_piece(venue, plan.equipment)
    (cycle,) = jonas.starts(plan, piece)
    services.verify_cycle(cycle=cycle, by=a_recorder(venue, "ana"))
    closed = jonas.does_all(cycle)
    assert closed.result == "complete", closed.verdict
    assert _ledger_holds(venue)


def _a_piece(venue, equipment):
    makers = {"keg": a_keg, "line": a_line, "tap": a_tap}
    if equipment in makers:
        return makers[equipment](venue)
    by = a_recorder(venue)
    return services.add_item(venue=venue, name=f"Our {equipment}", kind=equipment, by=by)


def test_an_allergen_clean_that_counts_ends_the_memory_of_the_last_drink(venue, jonas):
    keg, by = a_keg(venue), a_recorder(venue)
    began = timezone.now() - timedelta(hours=12)
    use = begin_use(
        keg=keg, drink="Orgeat sour", allergens=["almond"], carried_over=[], began_at=began, by=by
    )
    end_use(use, ended_at=began + timedelta(hours=1), by=by)
    plan = a_plan(venue, "keg.allergen")
    (cycle,) = jonas.starts(plan, keg, at=began + timedelta(hours=2))
    services.verify_cycle(cycle=cycle, by=a_recorder(venue, "ana"))
    assert history_of(keg=keg).residue == {"almond"}
    jonas.does_all(cycle)
    assert history_of(keg=keg).residue == frozenset()
    assert CleaningRecord.objects.get().verification == "last_rinse_test"


def test_an_allergen_clean_nobody_else_checked_ends_nothing(venue, jonas):
    keg = a_keg(venue)
    (cycle,) = jonas.starts(a_plan(venue, "keg.allergen"), keg)
    assert jonas.does_all(cycle).result == "incomplete"
    assert not CleaningRecord.objects.exists()
    services.verify_cycle(cycle=cycle, by=a_recorder(venue, "ana"))
    assert Cycle.objects.get().result == "complete"
    assert CleaningRecord.objects.get().removes_allergens


def test_who_cleaned_does_not_check_it_as_well(venue, jonas, line):
    (cycle,) = jonas.starts(a_plan(venue), line)
    with pytest.raises(ValidationError, match="Somebody else signs the check"):
        services.verify_cycle(cycle=cycle, by=jonas.by)


def test_a_step_left_out_leaves_the_cycle_incomplete_until_it_is_recorded(venue, jonas, line):
    (cycle,) = jonas.starts(a_plan(venue), line)
    jonas.does(cycle, 1, 2, 3, 4, 5)
    closed = services.close_cycle(cycle=cycle, by=jonas.by)
    assert closed.result == "incomplete"
    assert "Step 6, drain is not recorded" in closed.verdict["findings"][0]["statement"]
    jonas.does(cycle, 6)
    assert services.close_cycle(cycle=cycle, by=jonas.by).result == "complete"
    assert _ledger_holds(venue)


def test_a_detergent_too_weak_fails_the_cycle_and_says_by_how_much(venue, jonas, line):
    (cycle,) = jonas.starts(a_plan(venue), line)
    jonas.does(cycle, 1, 2)
    jonas.does(cycle, 3, strength=Reading.point(Decimal(15_000)))
    jonas.does(cycle, 4, 5, 6)
    closed = services.close_cycle(cycle=cycle, by=jonas.by)
    assert closed.result == "failed"
    assert "1.5 %, 5000 mg/l below 2 %" in closed.verdict["findings"][0]["statement"]
    assert not CleaningRecord.objects.exists()


def test_an_expired_chemical_cannot_pass_a_cycle(venue, jonas, line):
    yesterday = timezone.localdate() - timedelta(days=2)
    services.amend_batch(
        batch=jonas.sanitiser, changes={"expires_on": yesterday}, reason="Misread", by=jonas.by
    )
    (cycle,) = jonas.starts(a_plan(venue), line)
    assert jonas.does_all(cycle).result == "failed"


def test_a_chemical_off_the_list_cannot_pass_a_cycle(venue, jonas, line):
    services.amend_chemical(
        chemical=jonas.sanitiser.chemical,
        changes={"is_listed": False},
        reason="Recalled",
        by=jonas.by,
    )
    (cycle,) = jonas.starts(a_plan(venue), line)
    assert jonas.does_all(cycle).result == "failed"


def test_a_changed_plan_judges_no_old_cycle_anew(venue, jonas, line):
    plan = a_plan(venue)
    (cycle,) = jonas.starts(plan, line)
    closed = jonas.does_all(cycle)
    rules = plan.as_rules()
    bound = rules.step(3).strength
    stricter = replace(rules.step(3), strength=replace(bound, minimum=Decimal(28_000)))
    changed = replace(rules, steps=(*rules.steps[:2], stricter, *rules.steps[3:]))
    new = services.change_plan(plan=plan, changed=changed, reason="Old lines", by=jonas.by)
    assert (new.version, new.as_rules()) == (2, changed)
    assert verdict_of(Cycle.objects.get(pk=closed.pk)).result == "complete"
    (next_cycle,) = jonas.starts(new, line)
    assert jonas.does_all(next_cycle).result == "failed"


def test_a_plan_that_is_unsound_is_refused_with_the_reason(venue, jonas):
    plan = a_plan(venue)
    rules = plan.as_rules()
    no_rinse = replace(rules, steps=(*rules.steps[:3], *rules.steps[4:]))
    with pytest.raises(ValidationError, match="not followed by a rinse"):
        services.change_plan(plan=plan, changed=no_rinse, reason="Quicker", by=jonas.by)


def test_what_is_sent_twice_is_stored_once(venue, jonas, line):
    plan, circuit = a_plan(venue), uuid.uuid4()
    sent = {"venue": venue, "plan": plan, "pieces": [line], "circuit": circuit, "by": jonas.by}
    (first,), (again,) = services.start_circuit(**sent), services.start_circuit(**sent)
    assert first == again
    step_id, end_id = uuid.uuid4(), uuid.uuid4()
    for _ in range(2):
        step = services.begin_step(cycle=first, position=3, client_id=step_id, by=jonas.by)
    for _ in range(2):
        services.end_step(step=step, end_id=end_id, measured=Measured(), by=jonas.by)
    assert CycleStep.objects.count() == 1
    assert line.cleaning_events.filter(kind="detergent_in").count() == 1
    assert [event.action for event in history(step)] == ["ended", "detergent began"]


def test_two_phones_that_end_one_step_both_stay_on_record(venue, jonas, line):
    (cycle,) = jonas.starts(a_plan(venue), line)
    step = services.begin_step(cycle=cycle, position=3, client_id=uuid.uuid4(), by=jonas.by)
    for degc in (30, 41):
        services.end_step(
            step=step,
            end_id=uuid.uuid4(),
            measured=Measured(temperature_degc=Decimal(degc)),
            by=jonas.by,
        )
    kept = CycleStep.objects.order_by("pk").values_list("temperature_degc", flat=True)
    assert list(kept) == [30, 41]


def test_a_line_under_cleaning_cannot_be_begun_a_second_time(venue, jonas, line):
    plan = a_plan(venue)
    jonas.starts(plan, line)
    with pytest.raises(ValidationError, match="being cleaned already, by jonas"):
        jonas.starts(plan, line)


def test_a_full_keg_is_not_cleaned(venue, jonas):
    keg = a_keg(venue, name="K7")
    begin_use(
        keg=keg,
        drink="Paloma",
        allergens=[],
        carried_over=[],
        began_at=timezone.now() - timedelta(hours=6),
        by=jonas.by,
    )
    with pytest.raises(ValidationError, match="Keg K7 still holds Paloma: empty it first"):
        jonas.starts(a_plan(venue, "keg"), keg)


def test_twelve_lines_get_a_cycle_each_or_none_does(venue, jonas):
    lines = [a_line(venue) for _ in range(12)]
    plan = a_plan(venue)
    cycles = jonas.starts(plan, *lines)
    assert [cycle.line for cycle in cycles] == lines
    assert len({cycle.circuit for cycle in cycles}) == 1
    with pytest.raises(ValidationError):
        jonas.starts(plan, a_line(venue), lines[0])
    assert Cycle.objects.count() == 12


def test_between_detergent_and_proved_rinse_the_line_holds_detergent(venue, jonas, line):
    (cycle,) = jonas.starts(a_plan(venue), line)
    jonas.does(cycle, 1, 2)
    assert _condition(line) is LineCondition.UNDER_CLEANING
    services.begin_step(cycle=cycle, position=3, client_id=uuid.uuid4(), by=jonas.by)
    assert _condition(line) is LineCondition.DETERGENT_IN
    services.give_up_cycle(cycle=cycle, reason="The phone died", by=jonas.by)
    state = line_states([line.pk])[line.pk]
    assert state.condition is LineCondition.DETERGENT_IN
    assert [each.severity for each in state.findings("Line 3")] == [Severity.STOP]
    (another,) = jonas.starts(a_plan(venue, "line.acid"), line, at=timezone.now())
    rinse = jonas.measured(another.plan.as_rules().step(4))
    seen = line.cleaning_events.latest("sequence").sequence
    services.record_step(
        cycle=another, position=4, client_id=uuid.uuid4(), measured=rinse, seen=seen, by=jonas.by
    )
    assert _condition(line) is LineCondition.RINSE_VERIFIED


def test_a_rinse_read_on_a_page_that_had_not_shown_the_detergent_proves_nothing(venue, jonas, line):
    (cycle,) = jonas.starts(a_plan(venue), line)
    seen = line.cleaning_events.latest("sequence").sequence
    services.begin_step(cycle=cycle, position=3, client_id=uuid.uuid4(), by=jonas.by)
    rinse = jonas.measured(cycle.plan.as_rules().step(4))
    services.record_step(
        cycle=cycle, position=4, client_id=uuid.uuid4(), measured=rinse, seen=seen, by=jonas.by
    )
    assert _condition(line) is LineCondition.DETERGENT_IN


def test_a_line_with_two_taps_is_read_at_both(venue, jonas, line):
    for _ in range(2):
        a_tap(venue, line=line)
    (cycle,) = jonas.starts(a_plan(venue), line)
    assert cycle.outlets == 2
    assert jonas.does_all(cycle).result == "incomplete"
    assert _condition(line) is LineCondition.DETERGENT_IN


def test_a_step_that_comes_in_late_opens_the_cycle_again(venue, jonas, line):
    (cycle,) = jonas.starts(a_plan(venue), line)
    jonas.does_all(cycle)
    services.begin_step(cycle=cycle, position=3, client_id=uuid.uuid4(), by=jonas.by)
    assert Cycle.objects.get().is_open
    assert _condition(line) is LineCondition.DETERGENT_IN
    services.close_cycle(cycle=cycle, by=jonas.by)
    record = CleaningRecord.objects.get()
    assert (record.sanitised, record.verification) == (False, "none")
    assert LatestCycles.objects.get().last_good is None
    assert _ledger_holds(venue)


def test_an_acid_cycle_after_alkaline_counts_as_the_plain_clean_as_well(venue, jonas, line):
    plain, acid = a_plan(venue), a_plan(venue, "line.acid")
    (cycle,) = jonas.starts(acid, line)
    jonas.does_all(cycle)
    latest = LatestCycles.objects.get(family=plain.family)
    assert latest.last_good == cycle


def test_a_cycle_of_a_tap_leaves_its_line_alone(venue, jonas):
    tap = a_tap(venue)
    (cycle,) = jonas.starts(a_plan(venue, "tap.sweet"), tap)
    assert jonas.does_all(cycle).result == "complete"
    assert not tap.line.cleaning_events.exists()


def test_a_time_still_to_come_is_refused(venue, jonas, line):
    (cycle,) = jonas.starts(a_plan(venue), line)
    with pytest.raises(ValidationError, match="still to come"):
        services.begin_step(
            cycle=cycle,
            position=3,
            client_id=uuid.uuid4(),
            started_at=timezone.now() + timedelta(minutes=5),
            by=jonas.by,
        )
