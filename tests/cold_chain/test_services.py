"""Temperatures read by hand: what is refused, and what each leaves in the ledger."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from kegsafe.cold_chain import services
from kegsafe.cold_chain.models import Reading
from kegsafe.ledger.queries import history
from tests.builders import a_place, a_recorder, a_venue

pytestmark = pytest.mark.django_db


@pytest.fixture
def place():
    return a_place(a_venue(), name="Walk-in")


@pytest.fixture
def by(place):
    return a_recorder(place.venue, "jonas")


def _ago(**span):
    return timezone.now() - timedelta(**span)


def test_a_reading_is_recorded_with_the_name_of_who_read_it(place, by):
    reading = services.record_reading(
        place=place, read_at=_ago(minutes=1), temperature_degc=Decimal("3.2"), by=by
    )
    assert reading.recorded_by == "jonas"
    assert [event.action for event in history(reading)] == ["read"]


def test_a_reading_above_a_limit_is_never_rounded_to_the_limit(place, by):
    reading = services.record_reading(
        place=place, read_at=_ago(minutes=1), temperature_degc=Decimal("5.0001"), by=by
    )
    assert reading.temperature_degc == Decimal("5.01")


def test_a_reading_that_is_still_to_come_is_refused(place, by):
    with pytest.raises(ValidationError, match="still to come"):
        services.record_reading(
            place=place, read_at=_ago(minutes=-1), temperature_degc=Decimal(3), by=by
        )


@pytest.mark.parametrize("degc", ["-60.01", "60.01"])
def test_a_temperature_that_no_bar_has_is_refused(place, by, degc):
    with pytest.raises(ValidationError, match="no temperature of Walk-in"):
        services.record_reading(
            place=place, read_at=_ago(minutes=1), temperature_degc=Decimal(degc), by=by
        )


def test_a_round_is_recorded_whole_or_not_at_all(place, by):
    other = a_place(place.venue)
    readings = {place: Decimal("3.2"), other: Decimal(99)}
    with pytest.raises(ValidationError):
        services.record_round(venue=place.venue, readings=readings, read_at=_ago(minutes=1), by=by)
    assert not Reading.objects.exists()
    readings[other] = Decimal("4.1")
    stored = services.record_round(
        venue=place.venue, readings=readings, read_at=_ago(minutes=1), by=by
    )
    assert [(reading.place, str(reading.temperature_degc)) for reading in stored] == [
        (place, "3.20"),
        (other, "4.10"),
    ]


def test_a_round_stays_inside_its_venue(place, by):
    theirs = a_place(a_venue(name="Elsewhere"))
    with pytest.raises(ValueError, match="inside one venue"):
        services.record_round(
            venue=place.venue, readings={theirs: Decimal(3)}, read_at=_ago(minutes=1), by=by
        )


def test_an_amended_reading_keeps_what_it_said_first(place, by):
    reading = services.record_reading(
        place=place, read_at=_ago(minutes=5), temperature_degc=Decimal(32), by=by
    )
    services.amend_reading(
        reading=reading,
        changes={"temperature_degc": Decimal("3.2")},
        reason="Forgot the point",
        by=by,
    )
    (change,) = history(reading)[0].changes
    assert (change.field, change.first, change.new) == ("temperature", "32.00", "3.20")
