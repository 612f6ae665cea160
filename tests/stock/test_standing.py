"""How a lot stands: read from the rules, held against the published day count."""

from datetime import datetime, timedelta

import pytest
from django.utils import timezone

from kegsafe.stock import services
from kegsafe.stock.models import Lot
from kegsafe.stock.standing import SOON, Stand, Standing, standings
from tests.builders import a_lot, an_ingredient


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
