"""No order of steps, no crash and no second phone lets a line with detergent in it pour."""

import random
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.stateful import Bundle, RuleBasedStateMachine, consumes, invariant, rule

from kegsafe.rules.cleaning.line_state import (
    LineCondition,
    LineEvent,
    LineEventKind,
    line_state,
)
from kegsafe.rules.findings import Severity
from tests.rules.cleaning.cleaning_facts import BEGAN

Kind = LineEventKind
PROVED = {"is_verified": True}


def events(*steps, cycle="c1"):
    """Events stored one minute apart by somebody who had seen all that came before."""
    return [
        LineEvent(
            kind=kind,
            at=BEGAN + timedelta(minutes=number),
            sequence=number,
            cycle=cycle,
            seen=number - 1,
            is_verified=proved,
        )
        for number, (kind, proved) in enumerate(steps, start=1)
    ]


BEGIN = (Kind.CLEANING_BEGAN, False)
DETERGENT = (Kind.DETERGENT_IN, False)
BAD_RINSE = (Kind.RINSE_READ, False)
GOOD_RINSE = (Kind.RINSE_READ, True)
SANITISER = (Kind.SANITISER_IN, False)
DRAINED = (Kind.DRAINED, False)
END = (Kind.CLEANING_ENDED, False)


@pytest.mark.parametrize(
    ("steps", "condition"),
    [
        ((), LineCondition.READY),
        ((BEGIN,), LineCondition.UNDER_CLEANING),
        ((BEGIN, END), LineCondition.READY),
        ((BEGIN, DETERGENT), LineCondition.DETERGENT_IN),
        ((BEGIN, DETERGENT, BAD_RINSE), LineCondition.DETERGENT_IN),
        ((BEGIN, DETERGENT, END), LineCondition.DETERGENT_IN),
        ((BEGIN, DETERGENT, DRAINED), LineCondition.DETERGENT_IN),
        ((BEGIN, DETERGENT, SANITISER, DRAINED, END), LineCondition.DETERGENT_IN),
        ((BEGIN, DETERGENT, GOOD_RINSE), LineCondition.RINSE_VERIFIED),
        ((BEGIN, DETERGENT, GOOD_RINSE, DETERGENT), LineCondition.DETERGENT_IN),
        ((BEGIN, GOOD_RINSE, DETERGENT, END), LineCondition.DETERGENT_IN),
        ((BEGIN, DETERGENT, BAD_RINSE, GOOD_RINSE), LineCondition.RINSE_VERIFIED),
        ((BEGIN, DETERGENT, GOOD_RINSE, SANITISER), LineCondition.SANITISER_IN),
        ((BEGIN, DETERGENT, GOOD_RINSE, SANITISER, END), LineCondition.SANITISER_IN),
        ((BEGIN, DETERGENT, GOOD_RINSE, SANITISER, DRAINED), LineCondition.RINSE_VERIFIED),
        ((BEGIN, DETERGENT, GOOD_RINSE, SANITISER, DRAINED, END), LineCondition.READY),
    ],
)
def test_the_condition_of_a_line_follows_its_events(steps, condition):
    assert line_state(events(*steps)).condition is condition


def test_a_line_with_detergent_says_so_and_what_to_do():
    (finding,) = line_state(events(BEGIN, DETERGENT)).findings("Line 3")
    assert finding.severity is Severity.STOP
    assert finding.statement == (
        "Line 3 holds detergent. Do not pour, do not taste: rinse it, and record the pH at every "
        "tap."
    )


def test_a_line_with_a_proved_rinse_asks_for_the_end_of_its_cycle():
    (finding,) = line_state(events(BEGIN, DETERGENT, GOOD_RINSE)).findings("Line 3")
    assert finding.severity is Severity.ASK


def test_a_line_nobody_is_cleaning_says_nothing():
    assert line_state([]).findings("Line 3") == ()


def test_it_says_since_when_and_by_which_cycle():
    state = line_state(events(BEGIN, DETERGENT, BAD_RINSE))
    assert (state.since, state.cycle) == (BEGAN + timedelta(minutes=2), "c1")


@pytest.mark.parametrize(
    "flaw",
    [
        {"seen": None},
        {"seen": 1},
        {"at": BEGAN + timedelta(minutes=1)},
        {"is_verified": False},
        {"kind": Kind.DRAINED},
        {"kind": Kind.CLEANING_ENDED},
    ],
    ids=str,
)
def test_a_proof_with_a_flaw_takes_nothing_out(flaw):
    *before, proof = events(BEGIN, DETERGENT, GOOD_RINSE)
    assert line_state([*before, proof]).may_pour
    assert not line_state([*before, replace(proof, **flaw)]).may_pour


def test_a_proof_stored_before_the_detergent_takes_nothing_out_whatever_it_says_it_saw():
    proof = LineEvent(
        kind=Kind.RINSE_READ,
        at=BEGAN + timedelta(hours=1),
        sequence=1,
        cycle="c1",
        seen=99,
        is_verified=True,
    )
    detergent = LineEvent(kind=Kind.DETERGENT_IN, at=BEGAN, sequence=2, cycle="c1")
    assert line_state([proof, detergent]).condition is LineCondition.DETERGENT_IN


def test_a_second_phones_cycle_under_way_keeps_the_line_shut():
    first = events(BEGIN, DETERGENT, GOOD_RINSE, END)
    second = LineEvent(kind=Kind.CLEANING_BEGAN, at=BEGAN, sequence=5, cycle="c2", seen=None)
    assert line_state([*first, second]).condition is LineCondition.UNDER_CLEANING


ANY_EVENTS = st.lists(
    st.builds(
        LineEvent,
        kind=st.sampled_from(Kind),
        at=st.integers(0, 10).map(lambda minutes: BEGAN + timedelta(minutes=minutes)),
        sequence=st.just(0),
        cycle=st.sampled_from(["c1", "c2"]),
        seen=st.none() | st.integers(0, 12),
        is_verified=st.booleans(),
    ),
    max_size=12,
).map(lambda found: [replace(event, sequence=n) for n, event in enumerate(found, start=1)])


@given(ANY_EVENTS)
def test_a_line_that_may_pour_has_a_later_proof_for_every_detergent(stored):
    """Said anew from the trade's side: after the last detergent somebody read good rinse water."""
    if not line_state(stored).may_pour:
        return
    for place, event in enumerate(stored):
        if event.kind is Kind.DETERGENT_IN:
            assert any(
                later.kind is Kind.RINSE_READ and later.is_verified and later.at >= event.at
                for later in stored[place + 1 :]
            )


@given(ANY_EVENTS, st.randoms(use_true_random=False))
def test_the_order_in_which_events_are_handed_over_changes_nothing(stored, chance: random.Random):
    shuffled = chance.sample(stored, len(stored))
    assert line_state(shuffled) == line_state(stored)


@given(ANY_EVENTS, st.data())
def test_a_lost_event_other_than_a_chemical_going_in_never_opens_a_line(stored, data):
    """A phone that dies sends nothing more. Detergent is on record before it goes in."""
    kept = [
        event
        for event in stored
        if event.kind in (Kind.DETERGENT_IN, Kind.SANITISER_IN) or data.draw(st.booleans())
    ]
    if line_state(stored).condition is LineCondition.DETERGENT_IN:
        assert line_state(kept).condition is LineCondition.DETERGENT_IN


@given(ANY_EVENTS)
def test_from_the_moment_a_line_is_ready_earlier_events_may_be_left_out(stored):
    ready = [
        n for n in range(len(stored)) if line_state(stored[:n]).condition is LineCondition.READY
    ]
    full, rest = line_state(stored), line_state(stored[max(ready, default=0) :])
    if full.condition in (LineCondition.DETERGENT_IN, LineCondition.SANITISER_IN):
        assert rest.condition is full.condition


class ABarCleaningItsLine(RuleBasedStateMachine):
    """Two phones and one real line.

    Detergent goes in only after the server has it on record. Everything else may be sent late,
    out of order, with a clock that is wrong, or never. A phone reads good rinse water only when
    the line is truly rinsed, and says what it had seen at that moment.
    """

    waiting = Bundle("waiting")

    def __init__(self):
        super().__init__()
        self.stored: list[LineEvent] = []
        self.detergent_is_in = False
        self.minute = 0
        self.shown = {"phone 1": 0, "phone 2": 0}

    def store(self, event):
        self.stored.append(replace(event, sequence=len(self.stored) + 1))

    def event(self, phone, kind, skew, **more):
        self.minute += 1
        return LineEvent(
            kind=kind,
            at=BEGAN + timedelta(minutes=self.minute + skew),
            sequence=0,
            cycle=phone,
            seen=self.shown[phone],
            **more,
        )

    phones = st.sampled_from(["phone 1", "phone 2"])
    skews = st.integers(-30, 30)

    @rule(phone=phones)
    def look(self, phone):
        self.shown[phone] = len(self.stored)

    @rule(phone=phones, skew=skews)
    def put_detergent_in(self, phone, skew):
        self.store(self.event(phone, Kind.DETERGENT_IN, skew))
        self.detergent_is_in = True

    @rule()
    def rinse(self):
        self.detergent_is_in = False

    @rule(target=waiting, phone=phones, skew=skews)
    def read_the_rinse_water(self, phone, skew):
        return self.event(phone, Kind.RINSE_READ, skew, is_verified=not self.detergent_is_in)

    @rule(
        target=waiting,
        phone=phones,
        skew=skews,
        kind=st.sampled_from(
            [Kind.CLEANING_BEGAN, Kind.SANITISER_IN, Kind.DRAINED, Kind.CLEANING_ENDED]
        ),
    )
    def do_something_else(self, phone, skew, kind):
        return self.event(phone, kind, skew)

    @rule(event=waiting)
    def send(self, event):
        self.store(event)

    @rule(event=consumes(waiting))
    def send_late(self, event):
        self.store(event)

    @rule(event=consumes(waiting))
    def the_phone_dies_before_it_sends(self, event):
        pass

    @invariant()
    def detergent_never_pours(self):
        if self.detergent_is_in:
            assert line_state(self.stored).condition is LineCondition.DETERGENT_IN


ABarCleaningItsLine.TestCase.settings = settings(
    max_examples=150, stateful_step_count=40, deadline=None
)
TestABarCleaningItsLine = ABarCleaningItsLine.TestCase
