"""What came too warm is not accepted at the door: rejected or held, with the clause beside it.

FDA Food Code 3-202.11(A): 5 °C (41 °F) or below on receipt. [memory]
Food Safety and Hygiene (England) Regulations 2013, Schedule 4: 8 °C. [read]
"""

import json
from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from kegsafe.ledger.models import Entry
from kegsafe.rules.findings import Severity
from kegsafe.stock.arrival import arrival_of
from kegsafe.stock.facts import house
from kegsafe.stock.importing.plan import plan_import
from kegsafe.stock.models import Delivery, Lot
from kegsafe.venues.models import Role
from kegsafe.venues.services import set_local_limit
from tests.builders import a_lot, a_recorder, a_venue, an_ingredient
from tests.stock.test_importing import a_text, bring_in, furnish, troubles
from tests.stock.test_pages import a_delivery_form

pytestmark = pytest.mark.django_db


@pytest.fixture
def bar(venue):
    furnish(venue)
    an_ingredient(venue, name="Single cream", category="dairy")
    return venue


def sent_with(client, venue, **line):
    typed = {f"lot-0-{name}": value for name, value in line.items()}
    form = a_delivery_form(venue, **{"lot-0-ingredient": "Single cream", **typed})
    return client.post(reverse("delivery-add"), form)


@pytest.mark.parametrize(
    ("typed", "is_taken"), [("40.9 °F", True), ("41 °F", True), ("41.1 °F", False)]
)
def test_cream_is_accepted_up_to_the_limit_and_not_above(bar, signed_in, typed, is_taken):
    answer = sent_with(signed_in(Role.STAFF), bar, arrival_temperature=typed)
    assert Delivery.objects.exists() == is_taken
    if not is_taken:
        [said] = answer.context["lines"].errors[0]["decision"]
        assert "reject it, or hold it" in said
        assert "3-202.11" in said
        assert f'value="{typed}"' in answer.content.decode()


@pytest.mark.parametrize(("degc", "is_taken"), [("8", True), ("8.01", False)])
def test_each_code_has_its_own_limit(degc, is_taken):
    venue = a_venue("england", "Europe/London")
    cream = an_ingredient(venue, category="dairy")
    if is_taken:
        assert a_lot(venue, ingredient=cream, arrival_temperature_degc=Decimal(degc))
        return
    with pytest.raises(ValidationError, match=r"8\.01 °C .* Schedule 4"):
        a_lot(venue, ingredient=cream, arrival_temperature_degc=Decimal(degc))


@pytest.mark.parametrize(
    ("decision", "status"), [("hold", Lot.Status.ON_HOLD), ("reject", Lot.Status.REJECTED)]
)
def test_a_warm_arrival_is_held_or_rejected_and_the_finding_stays_with_the_lot(
    bar, signed_in, decision, status
):
    client = signed_in(Role.STAFF)
    sent_with(
        client,
        bar,
        arrival_temperature="9 °C",
        decision=decision,
        decided_because="The van was warm",
    )
    lot = Lot.objects.get()
    assert (lot.status, lot.status_reason) == (status, "The van was warm")
    [entry] = Entry.objects.filter(subject=lot.ledger_subject)
    [kept] = json.loads(entry.detail)["arrival"]
    assert (kept["rule"], kept["severity"]) == ("receiving.temperature", "stop")
    for page in (lot.get_absolute_url(), lot.delivery.get_absolute_url()):
        assert "reject it, or hold it until the manager has decided" in (
            client.get(page).content.decode()
        )


def test_a_hold_needs_its_reason(bar, signed_in):
    answer = sent_with(signed_in(Role.STAFF), bar, arrival_temperature="9 °C", decision="hold")
    assert "Say why" in answer.context["lines"].errors[0]["decided_because"][0]


def test_cream_that_nobody_measured_is_taken_and_asked_about(bar, signed_in):
    client = signed_in(Role.STAFF)
    sent_with(client, bar, arrival_temperature="")
    page = client.get(Delivery.objects.get().get_absolute_url()).content.decode()
    assert "nobody can say how cold it came" in page


def test_what_needs_no_cold_comes_at_any_temperature(bar, signed_in):
    client = signed_in(Role.STAFF)
    sent_with(client, bar, ingredient="Lime juice", arrival_temperature="20 °C")
    page = client.get(Lot.objects.get().get_absolute_url()).content.decode()
    assert "How cold it came" not in page


def test_the_limit_of_the_day_it_came_judges(bar):
    set_local_limit(
        venue=bar,
        rule="cold_holding.maximum",
        value=Decimal(3),
        valid_from=bar.local(timezone.now()).date() - timedelta(days=10),
        by=a_recorder(bar),
    )
    cream = an_ingredient(bar, category="dairy")
    came = {"ingredient": cream, "arrival_temperature_degc": Decimal(4)}
    before = timezone.now() - timedelta(days=11)
    assert a_lot(bar, received_at=before, **came).status == Lot.Status.ACCEPTED
    with pytest.raises(ValidationError, match="3 °C"):
        a_lot(bar, received_at=before + timedelta(days=1), **came)


CREAM = {"ingredient": "Single cream", "arrival_temperature": "5.1 °C"}


@pytest.mark.parametrize(("degc", "is_good"), [("4.9", True), ("5", True), ("5.01", False)])
def test_a_file_is_held_to_the_same_limit(bar, degc, is_good):
    plan = plan_import(bar, a_text(CREAM | {"arrival_temperature": f"{degc} °C"}))
    assert bool(plan.new) == is_good
    if not is_good:
        [(line, column, sentence)] = troubles(plan)
        assert (line, column) == (2, "decision")
        assert "3-202.11" in sentence
        assert "Write hold or reject" in sentence


def test_a_file_may_say_hold(bar):
    bring_in(bar, a_text(CREAM | {"decision": "hold", "reason": "Warm van"}))
    assert Lot.objects.get().status == Lot.Status.ON_HOLD


def test_a_delivery_of_many_lots_asks_for_the_limits_once(bar, django_assert_max_num_queries):
    rows = [CREAM | {"arrival_temperature": "4 °C", "supplier_lot": f"L{k}"} for k in range(30)]
    with django_assert_max_num_queries(6):
        assert len(plan_import(bar, a_text(*rows)).new) == 30


def test_where_the_code_names_no_temperature_the_record_says_so():
    """Regulation (EC) 852/2004, annex II chapter IX(5), names none. [second-hand]"""
    venue = a_venue("eu", "Europe/Berlin")
    cream = an_ingredient(venue, category="dairy")
    lot = a_lot(venue, ingredient=cream, arrival_temperature_degc=Decimal(12))
    assert lot.status == Lot.Status.ACCEPTED
    [asked] = arrival_of(lot, house(venue))
    assert asked.severity is Severity.ASK
