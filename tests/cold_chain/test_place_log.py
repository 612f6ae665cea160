"""What is found by way of the hours is what is found over every reading."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kegsafe.cold_chain.models import LoggedReading
from kegsafe.cold_chain.queries import DrinkInKeg, Wanted, histories_of, place_logs
from kegsafe.cold_chain.services import decide_gap
from kegsafe.cold_chain.services.log_store import Put, put_readings, write_hours
from kegsafe.equipment.models import Place
from kegsafe.equipment.services import place_keg
from kegsafe.rules.cold.excursions import excursions
from kegsafe.rules.cold.fill_effect import effect
from kegsafe.rules.findings import Severity
from kegsafe.stock.facts import house
from kegsafe.venues.services import set_local_limit
from tests.builders import a_keg, a_place, a_recorder, a_venue

pytestmark = [pytest.mark.django_db, pytest.mark.records]

LIMIT, GAP = 800, 1800
BEGIN_S = int(datetime(2026, 4, 13, tzinfo=UTC).timestamp())


def put(place, readings):
    so_far = Put()
    put_readings(place.pk, readings, LoggedReading.Source.FILE.value, so_far)
    write_hours(place.pk, so_far)


def forget(place):
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM cold_chain_loggedreading WHERE place_id = %s", [place.pk])
        cursor.execute("DELETE FROM cold_chain_hourofreadings WHERE place_id = %s", [place.pk])


logs = st.lists(
    st.tuples(
        st.sampled_from([60, 300, 600, 1700, 1801, 3599, 3600, 7201, 20_000]),
        st.sampled_from([300, 500, 790, 800, 801, 1200]),
    ),
    min_size=1,
    max_size=60,
)


@given(logs, st.integers(-8000, 80_000), st.integers(1, 90_000))
@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_stretch_by_its_hours_is_the_stretch_by_its_readings(shared, steps, begins, lasts):
    readings, at_s = {}, BEGIN_S
    for step, degc in steps:
        at_s += step
        readings[at_s] = degc
    forget(shared)
    put(shared, readings)
    start, end = BEGIN_S + begins, BEGIN_S + begins + lasts
    wanted = Wanted(shared.pk, start, end, LIMIT, GAP)
    found = place_logs([wanted])[shared.pk].record(start, end, limit=LIMIT, longest_gap=GAP)
    whole = excursions(
        list(readings), list(readings.values()), LIMIT, longest_gap=GAP, start=start, end=end
    )
    assert found.excursions == whole.excursions
    assert found.gaps == whole.gaps


@pytest.fixture
def shared():
    return a_place(a_venue())


def test_quiet_hours_are_not_read_one_by_one(shared, django_assert_num_queries):
    put(shared, {BEGIN_S + 60 * k: 300 for k in range(60 * 24 * 20)})
    with django_assert_num_queries(1):
        logs = place_logs([Wanted(shared.pk, BEGIN_S, BEGIN_S + 20 * 86_400, LIMIT, GAP)])
    assert sum(len(times) for times, _ in logs[shared.pk].parts) <= 4


HERE = datetime(2026, 4, 13, 10, 0, tzinfo=UTC)
NOW = HERE + timedelta(days=2)


@pytest.fixture
def venue():
    return a_venue("us_fda_2022", "America/New_York")


def a_log(place, *, begins=HERE - timedelta(hours=1), ends=NOW, degc=300, warm=()):
    first, last = int(begins.timestamp()), int(ends.timestamp())
    readings = dict.fromkeys(range(first, last + 1, 600), degc)
    for from_at, until_at, warm_degc in warm:
        span = range(int(from_at.timestamp()), int(until_at.timestamp()), 600)
        readings |= dict.fromkeys(span, warm_degc)
    put(place, readings)


def said(venue, keg, *, now=NOW):
    history = histories_of([DrinkInKeg(7, keg.pk, HERE, now)], house(venue), now)[7]
    findings = effect(history, house(venue), now.date(), is_tcs=True)
    return history, {finding.rule: finding.severity for finding in findings}


def standing_in(venue, place, *, at=HERE):
    keg = a_keg(venue)
    place_keg(keg=keg, place=place, at=at, by=a_recorder(venue))
    return keg


def test_a_drink_that_stood_cold_and_was_read_all_the_time_is_in_order(venue):
    cooler = a_place(venue)
    a_log(cooler)
    history, found = said(venue, standing_in(venue, cooler))
    assert (history.above_s, history.unknown_s) == (0, 0)
    assert found == {"excursion.none": Severity.NOTE}


def test_five_warm_hours_stop_it(venue):
    cooler = a_place(venue)
    warm = (HERE + timedelta(hours=20), HERE + timedelta(hours=25), 900)
    a_log(cooler, warm=[warm])
    history, found = said(venue, standing_in(venue, cooler))
    assert history.above_s == 5 * 3600 + 600  # from the last good reading to the next good one
    assert found["excursion.discard_from"] is Severity.STOP


def test_warm_hours_in_a_place_it_had_left_are_not_its_own(venue):
    bar, cellar = a_place(venue), a_place(venue)
    for place in (bar, cellar):
        a_log(
            place,
            warm=[(HERE + timedelta(hours=30), HERE + timedelta(hours=40), 900)][: place is bar],
        )
    keg = standing_in(venue, bar)
    place_keg(keg=keg, place=cellar, at=HERE + timedelta(hours=24), by=a_recorder(venue))
    history, _ = said(venue, keg)
    assert [stay.place for stay in history.stays] == [bar.name, cellar.name]
    assert history.above_s == 0


def test_hours_nobody_read_are_asked_about(venue):
    cooler = a_place(venue)
    a_log(cooler, ends=HERE + timedelta(hours=10))
    history, found = said(venue, standing_in(venue, cooler))
    assert history.unknown_s == 38 * 3600
    assert found == {"cold_holding.old_reading": Severity.ASK}


def test_hours_for_which_no_place_is_on_record_are_asked_about(venue):
    cooler = a_place(venue)
    a_log(cooler)
    keg = standing_in(venue, cooler, at=HERE + timedelta(hours=3))
    history, found = said(venue, keg)
    assert history.unplaced_s == 3 * 3600
    assert found["excursion.no_place"] is Severity.ASK


def test_a_place_nobody_ever_read_is_not_known_from_end_to_end(venue):
    history, found = said(venue, standing_in(venue, a_place(venue)))
    assert history.unknown_s == 48 * 3600
    assert history.last_read is None
    assert found == {"cold_holding.old_reading": Severity.ASK}


def test_all_kegs_of_a_bar_take_one_query(venue, django_assert_num_queries):
    cooler = a_place(venue, kind=Place.Kind.WALK_IN)
    a_log(cooler)
    kegs = [standing_in(venue, cooler) for _ in range(5)]
    at_venue = house(venue)
    drinks = [DrinkInKeg(keg.pk, keg.pk, HERE, NOW) for keg in kegs]
    with django_assert_num_queries(1):
        found = histories_of(drinks, at_venue, NOW)
    assert [history.above_s for history in found.values()] == [0] * 5


def test_a_night_between_two_readings_is_not_known_until_a_manager_decides(venue):
    cooler = a_place(venue)
    evening, morning = HERE + timedelta(hours=12), HERE + timedelta(hours=22)
    a_log(cooler, ends=evening)
    a_log(cooler, begins=morning)
    keg = standing_in(venue, cooler)
    history, found = said(venue, keg)
    assert history.unknown_s == 10 * 3600
    assert found == {"excursion.not_known": Severity.ASK}
    decide_gap(
        place=cooler,
        from_s=int(evening.timestamp()),
        until_s=int(morning.timestamp()),
        counts="warm",
        found="The door stood open.",
        decided_at=NOW,
        by=a_recorder(venue),
    )
    history, found = said(venue, keg)
    assert (history.unknown_s, history.above_s) == (0, 10 * 3600)
    assert found["excursion.discard_from"] is Severity.STOP


def test_the_last_reading_of_the_place_comes_with_the_history(venue):
    cooler = a_place(venue)
    a_log(cooler)
    history, _ = said(venue, standing_in(venue, cooler))
    assert history.last_read == (int(NOW.timestamp()), 300)


def test_each_day_is_held_to_the_limit_of_that_day(venue):
    """A limit of 2 °C from the second day on does not make the first one warm."""
    cooler = a_place(venue)
    a_log(cooler)
    set_local_limit(
        venue=venue,
        rule="cold_holding.maximum",
        value=Decimal(2),
        valid_from=date(2026, 4, 14),
        by=a_recorder(venue),
    )
    history, _ = said(venue, standing_in(venue, cooler))
    midnight = datetime(2026, 4, 14, 0, 0, tzinfo=venue.zone)
    assert history.above_s == (NOW - midnight).total_seconds()


def test_warm_hours_are_charged_only_where_the_venue_chose_so(venue):
    """Six hours at 15 °C cost 35.1 h beyond the clock: the worked case of the growth relation."""
    cooler = a_place(venue)
    begins, ends = HERE + timedelta(hours=20), HERE + timedelta(hours=26, minutes=10)
    a_log(cooler, warm=[(begins, ends, 1500)])
    keg = standing_in(venue, cooler)
    assert said(venue, keg)[0].charged_h == 0
    set_local_limit(
        venue=venue,
        rule="excursion.growth_charge",
        value=Decimal(100),
        valid_from=date(2026, 4, 1),
        by=a_recorder(venue),
    )
    # Ten minutes into and out of the warmth are charged too, each at most as dear as in it.
    assert 35.1 < said(venue, keg)[0].charged_h < 35.1 * (1 + 2 / 36)


def test_without_a_limit_on_file_nothing_is_above_it_and_unread_time_is_not_known():
    venue = a_venue("eu", "Europe/Berlin")
    keg = standing_in(venue, a_place(venue))
    history = histories_of([DrinkInKeg(1, keg.pk, HERE, NOW)], house(venue), NOW)[1]
    assert (history.above_s, history.unknown_s) == (0, 48 * 3600)
