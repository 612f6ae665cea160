"""A line with detergent in it and failed pressure gear stop the pour, at once and until mended."""

import uuid
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from kegsafe.cleaning import services as cleaning
from kegsafe.cold_chain.services import record_reading
from kegsafe.equipment.models import Service
from kegsafe.pour.queries import keg_view
from kegsafe.pressure import services as pressure
from kegsafe.rules.findings import Outcome, Severity
from kegsafe.rules.pour_check import pour_check
from tests.builders import (
    a_batch,
    a_fill,
    a_lot,
    a_person,
    a_place,
    a_recipe,
    a_recorder,
    a_tapping,
    a_venue,
    an_ingredient,
)
from tests.cleaning.cycle_acts import Cleaner, a_plan
from tests.query_counts import queries_of

pytestmark = [pytest.mark.django_db, pytest.mark.records]


@pytest.fixture
def venue():
    return a_venue()


@pytest.fixture
def tapping(venue):
    """A drink on tap whose record wants for nothing."""
    spirit = an_ingredient(venue, category="spirit", total_so2_mg_per_l=Decimal(0))
    batch = a_batch(venue, a_lot(venue, ingredient=spirit), recipe=a_recipe(venue, spirit))
    place = a_place(venue)
    tapped = a_tapping(venue, fill=a_fill(venue, batch=batch, rest_hours=0, place=place))
    record_reading(
        place=place, read_at=timezone.now(), temperature_degc=Decimal("3.0"), by=a_recorder(venue)
    )
    return tapped


def _verdict(venue, tapping):
    view = keg_view(venue, tapping.fill.keg.label_code)
    return pour_check(view.facts, timezone.now())


def _stops(verdict):
    return [each.rule for each in verdict.findings if each.severity is Severity.STOP]


def test_a_line_in_order_pours(venue, tapping):
    assert _verdict(venue, tapping).outcome is Outcome.POUR


def test_a_line_with_detergent_in_it_stops_every_pour_until_its_rinse_is_proved(venue, tapping):
    cleaner, line = Cleaner(venue), tapping.tap.line
    (cycle,) = cleaner.starts(a_plan(venue), line)
    steps = [step.position for step in cycle.plan.as_rules().steps]
    cleaner.does(cycle, *steps[:3])
    verdict = _verdict(venue, tapping)
    assert verdict.outcome is Outcome.STOP
    assert f"Line {line.name}" in verdict.reason
    cleaner.does(cycle, *steps[3:])
    cleaning.close_cycle(cycle=cycle, by=cleaner.by)
    assert _stops(_verdict(venue, tapping)) == []


def test_a_phone_that_died_leaves_the_detergent_where_it_is(venue, tapping):
    cleaner = Cleaner(venue)
    (cycle,) = cleaner.starts(a_plan(venue), tapping.tap.line)
    cleaning.begin_step(cycle=cycle, position=3, client_id=uuid.uuid4(), by=cleaner.by)
    cleaning.give_up_cycle(cycle=cycle, reason="The phone died", by=cleaner.by)
    assert _verdict(venue, tapping).outcome is Outcome.STOP


def test_a_relief_valve_out_of_service_stops_the_keg_it_sits_on(venue, tapping):
    valve = pressure.add_item(
        venue=venue,
        kind="relief_valve",
        name="V1",
        keg=tapping.fill.keg,
        relief_gauge_pa=Decimal(700_000),
        by=a_recorder(venue),
    )
    assert _verdict(venue, tapping).outcome is Outcome.POUR
    pressure.set_item_service(
        item=valve, service=Service.OUT_OF_SERVICE, reason="does not lift", by=a_recorder(venue)
    )
    verdict = _verdict(venue, tapping)
    assert verdict.outcome is Outcome.STOP
    assert "Relief valve V1" in verdict.reason


def test_a_bar_in_good_order_pays_no_query_for_it(venue, tapping, client):
    client.force_login(a_person(venue))
    url = reverse("pour-check", args=[tapping.fill.keg.label_code])
    assert queries_of(client, url) == 8
