"""Steps in any order, by two phones, with crashes: no line with detergent in it may pour.

What really happened to the line is kept beside the records, by a model of its own: detergent
that a phone was told to put in stays in until a rinse is read in limits by somebody whose page
had shown that it went in.
"""

import uuid
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import transaction
from hypothesis import given, settings
from hypothesis import strategies as st

from kegsafe.cleaning import services
from kegsafe.cleaning.models import Cycle, CycleStep, LineEvent
from kegsafe.cleaning.queries import line_states
from kegsafe.cleaning.services import Measured
from kegsafe.ledger.models import Chain
from kegsafe.ledger.verification import verify_chain, verify_records
from kegsafe.rules.cleaning.line_state import LineCondition, line_state
from kegsafe.rules.cleaning.readings import Reading
from tests.builders import a_line, a_recorder, a_venue
from tests.cleaning.cycle_acts import Cleaner, a_plan

pytestmark = [pytest.mark.django_db, pytest.mark.records]

DETERGENTS, RINSES, SANITISE, DRAIN = (3, 5), (4, 6), 7, 8  # of the plan with acid
ACTS = (
    "look", "start", "detergent in", "detergent out", "detergent written down after",
    "rinse in limits", "rinse off", "sanitise", "drain", "close", "give up",
)  # fmt: skip
FATES = ("stored", "sent twice", "died before it was stored")

phones = st.sampled_from(("left", "right"))
paths = st.lists(
    st.tuples(phones, st.sampled_from(ACTS), st.sampled_from(FATES), st.integers(0, 1)),
    max_size=14,
)


class Died(Exception):
    """The phone or the server went away before the transaction was through."""


class Bar:
    """One line, two phones, the records, and what is really in the line."""

    def __init__(self) -> None:
        self.venue = a_venue()
        self.line = a_line(self.venue)
        self.plan = a_plan(self.venue, "line.acid")
        self.cleaner = Cleaner(self.venue)
        self.rules = self.plan.as_rules()
        self.seen: dict[str, int] = {"left": 0, "right": 0}
        self.unproved: list[
            int
        ] = []  # each detergent really in: an event seen from this one on had shown it
        self.sent: set[uuid.UUID] = set()  # each step a phone was told is stored
        self._act(self.cleaner.by, "start", uuid.uuid4(), "left", 0)

    def do(self, phone: str, act: str, fate: str, which: int) -> None:
        by, key = a_recorder(self.venue, phone), uuid.uuid4()
        if fate == "died before it was stored":
            try:
                with transaction.atomic():
                    self._call(by, act, key, phone, which)
                    raise Died
            except (Died, ValidationError):
                return
        for _ in range(2 if fate == "sent twice" else 1):
            self._act(by, act, key, phone, which)

    def _act(self, by, act: str, key: uuid.UUID, phone: str, which: int) -> None:
        before = self._newest()
        try:
            with transaction.atomic():
                step = self._call(by, act, key, phone, which)
        except ValidationError:
            return
        is_new = isinstance(step, CycleStep) and step.client_id not in self.sent
        if isinstance(step, CycleStep):
            self.sent |= {step.client_id} | ({step.end_id} if step.end_id else set())
        self._as_it_really_is(act, phone, before, is_new=is_new)

    def _as_it_really_is(self, act: str, phone: str, before: int, *, is_new: bool) -> None:
        if act == "look":
            self.seen[phone] = self._newest()
        elif act in ("detergent in", "detergent written down after") and is_new:
            self.unproved.append(before + 1)
        elif act == "rinse in limits":
            self.unproved = [each for each in self.unproved if each > self.seen[phone]]

    def _newest(self) -> int:
        newest = LineEvent.objects.order_by("-sequence").first()
        return newest.sequence if newest else 0

    def _call(self, by, act: str, key: uuid.UUID, phone: str, which: int):
        cycle = Cycle.objects.order_by("pk").last()
        match act:
            case "start":
                services.start_circuit(
                    venue=self.venue, plan=self.plan, pieces=[self.line], circuit=key, by=by
                )
            case "detergent in":
                return services.begin_step(
                    cycle=cycle, position=DETERGENTS[which], client_id=key, by=by
                )
            case "detergent out":
                begun = CycleStep.objects.filter(position__in=DETERGENTS).last()
                if begun is not None:
                    return services.end_step(step=begun, end_id=key, measured=Measured(), by=by)
            case "detergent written down after":
                return self._done(cycle, DETERGENTS[which], key, by, phone)
            case "rinse in limits":
                return self._done(cycle, RINSES[which], key, by, phone)
            case "rinse off":
                off = (Reading.point(Decimal("11.5")),)
                return self._done(cycle, RINSES[which], key, by, phone, outlet_ph=off)
            case "sanitise":
                return services.begin_step(cycle=cycle, position=SANITISE, client_id=key, by=by)
            case "drain":
                return self._done(cycle, DRAIN, key, by, phone)
            case "close":
                services.close_cycle(cycle=cycle, by=by)
            case "give up":
                services.give_up_cycle(cycle=cycle, reason="Called away", by=by)
        return None

    def _done(self, cycle, position: int, key, by, phone: str, **changes) -> CycleStep:
        measured = self.cleaner.measured(self.rules.step(position), **changes)
        return services.record_step(
            cycle=cycle,
            position=position,
            client_id=key,
            measured=measured,
            seen=self.seen[phone],
            by=by,
        )


@settings(max_examples=40)
@given(path=paths)
def test_no_path_lets_a_line_with_detergent_pour_or_loses_a_step(path):
    with transaction.atomic():
        bar = Bar()
        for act in path:
            bar.do(*act)
            state = line_states([bar.line.pk])[bar.line.pk]
            if bar.unproved:
                assert state.condition is LineCondition.DETERGENT_IN
            every_event = [event.as_rules() for event in bar.line.cleaning_events.all()]
            assert line_state(every_event).may_pour or not state.may_pour
        stored = CycleStep.objects.values_list("client_id", "end_id")
        assert bar.sent <= {key for keys in stored for key in keys}
        assert not verify_chain(Chain.objects.get(pk=bar.venue.chain_id)).broken
        assert list(verify_records()) == []
        transaction.set_rollback(True)
