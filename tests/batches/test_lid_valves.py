"""The relief valve on a keg's lid enters the fill: what its record says decides, gauge for gauge.

A relief valve opens at its set pressure: ISO 4126-1, definition of set pressure. [memory]
"""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from kegsafe.batches.filling import WantedFill, judge_fill
from kegsafe.batches.models import Fill
from kegsafe.equipment.models import Service
from kegsafe.pressure import services as pressure
from kegsafe.rules.findings import Severity
from kegsafe.venues.models import Role
from tests.builders import a_batch, a_clean, a_fill, a_keg

pytestmark = pytest.mark.django_db

BAR = Decimal(100_000)


@pytest.fixture
def keg(venue):
    clean = a_keg(venue, name="K1")
    a_clean(venue, clean)
    return clean


@pytest.fixture
def fit(venue, by, keg):
    """Return how to fit a relief valve to the keg's lid."""

    def fitted(opens_gauge_pa, name="V1"):
        return pressure.add_item(
            venue=venue,
            kind="relief_valve",
            name=name,
            keg=keg,
            relief_gauge_pa=opens_gauge_pa,
            by=by,
        )

    return fitted


@pytest.mark.parametrize(
    ("opens_gauge_pa", "is_refused"),
    [("200000.1", False), ("200000", True), ("199999.9", True)],
)
def test_a_fill_at_2_bar_goes_below_what_the_valve_holds_and_not_at_it(
    venue, keg, fit, opens_gauge_pa, is_refused
):
    fit(Decimal(opens_gauge_pa))
    if not is_refused:
        assert a_fill(venue, keg=keg).set_gauge_pa == 2 * BAR
        return
    with pytest.raises(ValidationError, match="Relief valve V1 on the lid of Keg K1 opens at"):
        a_fill(venue, keg=keg)
    assert not Fill.objects.exists()


def test_a_setting_nobody_recorded_is_asked_for_and_the_record_keeps_the_question(venue, keg, fit):
    fit(None)
    [asked] = [each for each in a_fill(venue, keg=keg).findings if "relief" in each["rule"]]
    assert (asked["rule"], asked["severity"]) == ("keg.no_relief_setting", Severity.ASK)
    assert "not recorded: not allowed to count on" in asked["statement"]


def test_a_valve_out_of_service_stops_the_fill_and_a_scrapped_one_no_more(venue, by, keg, fit):
    valve = fit(7 * BAR)
    pressure.set_item_service(valve, service=Service.OUT_OF_SERVICE, reason="does not lift", by=by)
    with pytest.raises(ValidationError, match="on its lid is out of service: does not lift"):
        a_fill(venue, keg=keg)
    pressure.set_item_service(valve, service=Service.SCRAPPED, reason="replaced", by=by)
    assert a_fill(venue, keg=keg).pk


def test_the_form_refuses_it_with_the_reason_and_keeps_what_was_typed(venue, keg, fit, signed_in):
    fit(2 * BAR)
    sent = {
        "keg": keg.pk,
        "volume_ml": "9 L",
        "liquid_temperature_degc": "2 °C",
        "set_gauge_pa": "2.5 bar",
        "gas_cycles": 3,
        "rest_hours": 8,
    }
    address = reverse("fill-keg", args=[a_batch(venue).pk])
    said = signed_in(Role.STAFF).post(address, sent).content.decode()
    assert "The set pressure is 2.50 bar gauge" in said
    assert "Relief valve V1 on the lid of Keg K1 opens at 2.00 bar gauge" in said
    assert 'value="2.5 bar"' in said
    assert not Fill.objects.exists()


@pytest.mark.parametrize("count", [0, 5])
def test_judging_a_fill_takes_as_many_queries_whatever_is_fitted(
    venue, keg, fit, django_assert_num_queries, count
):
    for nth in range(count):
        fit(7 * BAR, name=f"V{nth}")
    wanted = WantedFill(
        batch=a_batch(venue),
        keg=keg,
        filled_at=timezone.now(),
        volume_ml=Decimal(9000),
        set_gauge_pa=2 * BAR,
        rest_hours=24,
        accept_cross_contact=False,
    )
    with django_assert_num_queries(13):
        judge_fill(wanted, timezone.now())
