"""How a lot stands: read from the rules, held against the published day count."""

from datetime import datetime, timedelta

import pytest
from django.utils import timezone

from kegsafe.stock import services
from kegsafe.stock.models import Lot
from kegsafe.stock.queries import lots_in_stock
from kegsafe.stock.standing import SOON, Stand, Standing, standings
from tests.builders import a_lot, a_preparation, an_ingredient


def standing_of(lot: Lot, now: datetime | None = None) -> Standing:
    lot.refresh_from_db()
    [standing] = standings([lot], lot.venue, now or timezone.now())
    return standing


@pytest.fixture
def cream(venue):
    return an_ingredient(venue, name="Cream", category="dairy")


def test_a_spirit_without_a_date_stands_in_date_for_nothing_dates_it(venue):
    standing = standing_of(a_lot(venue))
    assert (standing.stand, standing.ends_at) == (Stand.IN_DATE, None)


def test_cream_without_a_date_cannot_be_dated_and_says_what_is_missing(venue, cream):
    standing = standing_of(a_lot(venue, ingredient=cream))
    assert standing.stand is Stand.UNDATED
    assert any("has a use-by date or a shelf-life rule" in each.statement
               for each in standing.reasons)  # fmt: skip


def test_opened_cream_ends_with_the_seventh_day_of_the_food_code(venue, by, cream):
    # FDA Food Code 2022, 3-501.17(A): 7 days, the day of opening counted as day 1.
    lot = a_lot(venue, ingredient=cream)
    services.open_lot(lot=lot, opened_at=timezone.now(), by=by)
    last_day = venue.local(timezone.now()).date() + timedelta(days=6)
    assert venue.local(standing_of(lot).ends_at).date() == last_day


def test_the_earliest_of_two_dates_binds(venue, by, cream):
    today = venue.local(timezone.now()).date()
    lot = a_lot(venue, ingredient=cream, use_by=today + timedelta(days=3))
    services.open_lot(lot=lot, opened_at=timezone.now(), by=by)
    standing = standing_of(lot)
    assert venue.local(standing.ends_at).date() == today + timedelta(days=3)
    assert standing.binding.rule == "lot.use_by"
    assert len(standing.candidates) == 2


@pytest.mark.parametrize(
    ("before_the_end", "stand"),
    [
        (SOON + timedelta(minutes=1), Stand.IN_DATE),
        (SOON, Stand.ENDS_SOON),
        (timedelta(0), Stand.ENDS_SOON),
        (-timedelta(minutes=1), Stand.PAST),
    ],
)
def test_a_lot_ends_soon_from_two_days_before_its_end_and_is_past_the_minute_after(
    venue, before_the_end, stand
):
    lot = a_lot(venue, use_by=venue.local(timezone.now()).date() + timedelta(days=9))
    ends_at = standing_of(lot).ends_at
    assert standing_of(lot, ends_at - before_the_end).stand is stand


def test_a_frozen_lot_says_so(venue, by):
    lot = a_lot(venue)
    services.freeze_lot(lot=lot, frozen_at=timezone.now(), by=by)
    assert standing_of(lot).stand is Stand.FROZEN


def test_an_empty_lot_is_used_up(venue, by):
    lot = a_lot(venue)
    services.draw_from_lot(lot=lot, amount=lot.amount_left, drawn_at=timezone.now(), by=by)
    assert standing_of(lot).stand is Stand.USED_UP


def test_a_lot_on_hold_is_on_hold_whatever_its_date(venue, by):
    lot = a_lot(venue, use_by=venue.local(timezone.now()).date() - timedelta(days=1))
    services.hold_lot(lot=lot, reason="Cap loose", by=by)
    assert standing_of(lot).stand is Stand.ON_HOLD


class TestMadeInHouse:
    """FDA Food Code 2022, 3-501.17(C): the earliest-prepared ingredient dates the whole."""

    def test_a_preparation_ends_with_the_lot_that_went_into_it(self, venue):
        tomorrow = venue.local(timezone.now()).date() + timedelta(days=1)
        syrup = a_preparation(venue, a_lot(venue, use_by=tomorrow)).lot
        standing = standing_of(syrup)
        assert standing.stand is Stand.ENDS_SOON
        assert venue.local(standing.ends_at).date() == tomorrow
        assert standing.binding.rule == "lot.use_by"

    def test_it_ends_with_a_lot_behind_it_at_any_depth(self, venue):
        tomorrow = venue.local(timezone.now()).date() + timedelta(days=1)
        first = a_preparation(venue, a_lot(venue, use_by=tomorrow)).lot
        second = a_preparation(venue, first).lot
        assert standing_of(second).ends_at == standing_of(first).ends_at

    def test_it_ends_sooner_when_an_earlier_opening_is_found_out(self, venue, by, cream):
        received = timezone.now() - timedelta(days=3)
        lot = a_lot(venue, ingredient=cream, received_at=received)
        made = a_preparation(venue, lot).lot
        before = standing_of(made).ends_at
        services.open_lot(lot=lot, opened_at=received, by=by)
        assert before - standing_of(made).ends_at == timedelta(days=3)

    def test_it_has_no_date_while_a_lot_behind_it_has_none(self, venue):
        aged = an_ingredient(venue, category="cultured_dairy", date_mark_exempt=True)
        made = a_preparation(venue, a_lot(venue, ingredient=aged)).lot
        assert standing_of(made).stand is Stand.UNDATED

    def test_the_list_of_lots_says_what_the_page_of_the_lot_says(self, venue):
        tomorrow = venue.local(timezone.now()).date() + timedelta(days=1)
        made = a_preparation(venue, a_lot(venue, use_by=tomorrow)).lot
        listed = {each.lot: each.stand for each in lots_in_stock(venue, timezone.now())}
        assert listed[made] is standing_of(made).stand is Stand.ENDS_SOON

    def test_a_lot_behind_it_on_hold_is_said(self, venue, by):
        gin = a_lot(venue)
        made = a_preparation(venue, gin).lot
        services.hold_lot(lot=gin, reason="recall notice", by=by)
        standing = standing_of(made)
        assert standing.stand is Stand.MADE_OF_HELD
        assert f"recall notice. It went into {made.ingredient} (lot {made.code})." in "".join(
            each.statement for each in standing.reasons
        )

    def test_what_was_left_of_a_lot_behind_it_may_be_thrown_away(self, venue, by):
        gin = a_lot(venue)
        made = a_preparation(venue, gin).lot
        services.discard_lot(lot=gin, reason="end of the night", by=by)
        assert standing_of(made).stand is Stand.IN_DATE
