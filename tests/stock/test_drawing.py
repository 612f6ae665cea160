"""What was drawn and what is left always add up to what came in, and nobody overdraws."""

from datetime import timedelta
from decimal import Decimal
from threading import Barrier, Thread

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kegsafe.stock import services
from kegsafe.stock.models import Lot
from tests.builders import a_lot, a_preparation, a_recorder, a_venue, an_ingredient

AMOUNTS = st.decimals(min_value="-5", max_value="1200", places=4)


@settings(max_examples=30, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(wanted=st.lists(AMOUNTS, max_size=8))
def test_what_was_drawn_and_what_is_left_make_what_was_received(venue, by, wanted):
    lot = a_lot(venue, amount=Decimal(1000))
    drawn = Decimal(0)
    for amount in wanted:
        before = Lot.objects.get(pk=lot.pk).amount_left
        try:
            after = services.draw_from_lot(
                lot=lot, amount=amount, drawn_at=timezone.now(), by=by
            ).amount_left
        except ValidationError:
            after = Lot.objects.get(pk=lot.pk).amount_left
            assert after == before
        drawn += before - after
        assert after >= 0
    assert drawn + Lot.objects.get(pk=lot.pk).amount_left == Decimal(1000)


def test_the_last_drop_can_be_drawn_and_not_one_more(venue, by):
    lot = a_lot(venue, amount=Decimal(700))
    services.draw_from_lot(lot=lot, amount=Decimal(700), drawn_at=timezone.now(), by=by)
    with pytest.raises(ValidationError, match="0 fl oz left"):
        services.draw_from_lot(lot=lot, amount=Decimal("0.001"), drawn_at=timezone.now(), by=by)


def test_drawing_too_much_names_the_other_lots_there_are(venue, by):
    gin = an_ingredient(venue, name="Gin")
    lot, other = a_lot(venue, ingredient=gin, amount=Decimal(100)), a_lot(venue, ingredient=gin)
    with pytest.raises(ValidationError) as refused:
        services.draw_from_lot(lot=lot, amount=Decimal(101), drawn_at=timezone.now(), by=by)
    assert f"Other lots of Gin: {other.code} (33.81 fl oz)." in refused.value.messages[0]


def test_the_first_draw_opens_a_bought_pack(venue, by):
    drawn_at = timezone.now() - timedelta(minutes=3)
    lot = services.draw_from_lot(lot=a_lot(venue), amount=Decimal(1), drawn_at=drawn_at, by=by)
    assert lot.opened_at == drawn_at


def test_a_draw_before_the_recorded_opening_moves_the_opening_back(venue, by):
    lot = a_lot(venue)
    services.open_lot(lot=lot, opened_at=timezone.now(), by=by)
    earlier = timezone.now() - timedelta(minutes=20)
    drawn = services.draw_from_lot(lot=lot, amount=Decimal(1), drawn_at=earlier, by=by)
    assert drawn.opened_at == earlier


def test_a_lot_made_in_house_is_not_opened_by_a_draw(venue, by):
    syrup = an_ingredient(venue, made_in_house=True)
    lot = services.draw_from_lot(
        lot=a_lot(venue, ingredient=syrup), amount=Decimal(1), drawn_at=timezone.now(), by=by
    )
    assert lot.opened_at is None


def _yesterday(venue):
    return venue.local(timezone.now()).date() - timedelta(days=1)


def test_nothing_is_drawn_from_a_lot_past_its_use_by(venue, by):
    lot = a_lot(venue, use_by=_yesterday(venue))
    with pytest.raises(ValidationError, match="The use-by of"):
        services.draw_from_lot(lot=lot, amount=Decimal(1), drawn_at=timezone.now(), by=by)


def test_a_lot_is_drawn_from_on_its_last_day(venue, by):
    lot = a_lot(venue, use_by=_yesterday(venue) + timedelta(days=1))
    drawn = services.draw_from_lot(lot=lot, amount=Decimal(1), drawn_at=timezone.now(), by=by)
    assert drawn.amount_left == Decimal(999)


@pytest.mark.parametrize(
    ("act", "words"),
    [
        (services.hold_lot, "is on hold: Cap loose"),
        (services.discard_lot, "was discarded: Cap loose"),
        (services.reject_lot, "was rejected on arrival: Cap loose"),
    ],
)
def test_nothing_is_drawn_from_a_lot_out_of_use(venue, by, act, words):
    lot = a_lot(venue)
    act(lot=lot, reason="Cap loose", by=by)
    with pytest.raises(ValidationError, match=words):
        services.draw_from_lot(lot=lot, amount=Decimal(1), drawn_at=timezone.now(), by=by)


def test_nothing_is_drawn_from_what_was_made_of_a_lot_on_hold(venue, by):
    gin = a_lot(venue)
    made = a_preparation(venue, a_preparation(venue, gin).lot).lot
    services.hold_lot(lot=gin, reason="recall notice", by=by)
    with pytest.raises(ValidationError, match=r"recall notice\. It went into"):
        services.draw_from_lot(lot=made, amount=Decimal(1), drawn_at=timezone.now(), by=by)
    services.release_lot(lot=gin, reason="another lot was meant", by=by)
    assert services.draw_from_lot(lot=made, amount=Decimal(1), drawn_at=timezone.now(), by=by)


def test_nothing_is_drawn_from_what_was_made_of_a_lot_past_its_date_by_now(venue, by):
    then = timezone.now() - timedelta(days=2)
    gin = a_lot(venue, received_at=then - timedelta(hours=1), use_by=_yesterday(venue))
    made = a_preparation(venue, gin, began_at=then).lot
    with pytest.raises(ValidationError, match="The use-by of"):
        services.draw_from_lot(lot=made, amount=Decimal(1), drawn_at=timezone.now(), by=by)


def test_nothing_is_drawn_from_a_frozen_lot(venue, by):
    lot = a_lot(venue)
    services.freeze_lot(lot=lot, frozen_at=timezone.now(), by=by)
    with pytest.raises(ValidationError, match="in the freezer"):
        services.draw_from_lot(lot=lot, amount=Decimal(1), drawn_at=timezone.now(), by=by)


@pytest.mark.parametrize("minutes", [-61, 2])
def test_a_draw_belongs_between_the_delivery_and_now(venue, by, minutes):
    lot = a_lot(venue)
    at = timezone.now() + timedelta(minutes=minutes)
    with pytest.raises(ValidationError):
        services.draw_from_lot(lot=lot, amount=Decimal(1), drawn_at=at, by=by)


@pytest.mark.records
@pytest.mark.django_db(transaction=True)
def test_people_drawing_at_once_never_take_more_than_there_is():
    venue = a_venue()
    lot = a_lot(venue, amount=Decimal(1000))
    start, results = Barrier(6), []

    def draw() -> None:
        start.wait()
        try:
            services.draw_from_lot(
                lot=lot, amount=Decimal(300), drawn_at=timezone.now(), by=a_recorder(venue)
            )
            results.append("drawn")
        except ValidationError:
            results.append("refused")
        finally:
            connection.close()

    threads = [Thread(target=draw) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    lot.refresh_from_db()
    assert sorted(results) == ["drawn"] * 3 + ["refused"] * 3
    assert lot.amount_left == Decimal(100)


@pytest.mark.records
@pytest.mark.django_db(transaction=True)
def test_two_deliveries_at_once_get_codes_of_their_own():
    venue = a_venue()
    gin = an_ingredient(venue)
    start, codes = Barrier(4), []

    def receive() -> None:
        start.wait()
        try:
            codes.append(a_lot(venue, ingredient=gin).code)
        finally:
            connection.close()

    threads = [Thread(target=receive) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(set(codes)) == 4
