"""An excursion is one thing with one beginning, whichever day and page it is looked at from."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kegsafe.cold_chain import services
from kegsafe.cold_chain.queries.beginnings import FOLLOWED_BACK_S
from kegsafe.cold_chain.queries.standing import actions_about, standings, warm_places
from kegsafe.stock.facts import house
from kegsafe.venues.services import set_local_limit
from tests.builders import a_person, a_place, a_recorder, a_venue
from tests.cold_chain.test_place_log import forget, put
from tests.inspection.pack_reading import pdf_of, scope_of, text_of

pytestmark = [pytest.mark.django_db, pytest.mark.records]

DAY, HALF_HOUR = timedelta(days=1), 1800
DAY_S = 86_400


@pytest.fixture
def venue():
    return a_venue("england", "Europe/London", units="metric")


@pytest.fixture
def place(venue):
    return a_place(venue, name="Walk-in")


@pytest.fixture
def manager(client, venue):
    client.force_login(a_person(venue, "manager", name="petra"))
    return client


def warm_for(place, days, *, cold_days=30, warmest=1000):
    """Read a place each half hour: at 4 °C, then for so many days up to now at 10 °C.

    Return the second of its last good reading. SI 2013/2996, Schedule 4: 8 °C. [read]
    """
    began_s = int(timezone.now().timestamp()) - days * DAY_S
    cold = dict.fromkeys(range(began_s - cold_days * DAY_S, began_s + 1, HALF_HOUR), 400)
    warm = dict.fromkeys(range(began_s + HALF_HOUR, began_s + days * DAY_S, HALF_HOUR), 1000)
    put(place, cold | warm | {began_s + 10 * HALF_HOUR: warmest})
    return began_s


def said(place, began_s, *, hours_after=2):
    return services.record_action(
        place=place,
        excursion_from_s=began_s,
        what="Moved every keg to the cellar.",
        taken_at=datetime.fromtimestamp(began_s, UTC) + timedelta(hours=hours_after),
        by=a_recorder(place.venue),
    )


def shown_by(client, place, span):
    answer = client.get(reverse("cold-place", args=[place.pk]) + f"?span={span}")
    [(found, _, done)] = answer.context["excursions"]
    return found, done


def stood(place, from_at, until_at=None):
    now = timezone.now()
    [found] = standings([place], house(place.venue), from_at, until_at or now, now)
    return found


@pytest.mark.parametrize("days", [1, 8, 12])
def test_every_page_shows_the_same_excursion_and_what_was_done_about_it(
    manager, venue, place, days
):
    began_s = warm_for(place, days, warmest=1100)
    act = said(place, began_s)
    [warm] = manager.get("/cold/").context["warm"]
    assert warm.actions == (act,)
    seen = [warm.excursion]
    for span in ("day", "week", "month", "year"):
        found, done = shown_by(manager, place, span)
        assert done == [act]
        seen.append(found)
    assert [each.from_s for each in seen] == [began_s] * 5
    assert not any(each.begins_above for each in seen)
    assert {each.warmest_at_s for each in seen} == {began_s + 10 * HALF_HOUR}
    for each in seen:
        # Two degrees above for all the time but the first half hour, whose line is above for its
        # last third and half as high; one degree more on the way to the one warmer reading.
        hand = 2 * (each.above_s - HALF_HOUR) + 600 * 2 / 2 + HALF_HOUR * 1
        assert each.area_degc_h == pytest.approx(hand / 3600)
        assert each.above_s == pytest.approx(days * DAY_S, abs=120)


@pytest.mark.parametrize("days", [1, 8, 12])
def test_the_pack_of_a_day_shows_it_whole_with_what_was_done(venue, place, days):
    began_s = warm_for(place, days)
    act = said(place, began_s)
    now = timezone.now()
    today = venue.local(now).date()
    scope = scope_of(venue, today, today, now)
    [standing] = scope.cold
    [found] = standing.record.excursions
    assert (found.from_s, found.begins_above) == (began_s, False)
    assert actions_about([(place, found)]) == [[act]]
    assert act.what in text_of(pdf_of(scope))


def test_it_keeps_its_beginning_after_it_is_over(manager, place):
    began_s = warm_for(place, 12)
    over_s = int(timezone.now().timestamp()) - 60
    put(place, {over_s: 300})
    said(place, began_s)
    [found] = stood(place, timezone.now() - timedelta(hours=6)).record.excursions
    assert (found.from_s, found.until_s, found.is_open) == (began_s, over_s, False)
    assert manager.get("/cold/").context["warm"] == []


def test_gaps_are_those_of_the_stretch_alone(place):
    now_s = int(timezone.now().timestamp())
    put(place, {now_s - 10 * DAY_S: 400, now_s - 9 * DAY_S: 1000, now_s - DAY_S: 1000})
    found = stood(place, timezone.now() - 3 * DAY).record
    [excursion] = found.excursions
    assert excursion.from_s == now_s - 10 * DAY_S
    assert excursion.unread_s == pytest.approx(10 * DAY_S, abs=60)
    assert found.gaps[0].from_s == pytest.approx(now_s - 3 * DAY_S, abs=60)
    assert found.unknown_s == 0


def test_what_was_never_read_before_begins_with_its_first_reading(manager, place):
    """Nothing is known of the time before; a day later it began at the same second."""
    began_s = int(timezone.now().timestamp()) - 3 * DAY_S
    put(place, dict.fromkeys(range(began_s, began_s + 3 * DAY_S, HALF_HOUR), 1000))
    act = said(place, began_s)
    [warm] = manager.get("/cold/").context["warm"]
    assert (warm.excursion.from_s, warm.excursion.begins_above) == (began_s, True)
    assert warm.actions == (act,)
    found, done = shown_by(manager, place, "day")
    assert (found.from_s, done) == (began_s, [act])
    week = stood(place, timezone.now() - 7 * DAY).record
    assert week.unknown_s == pytest.approx(4 * DAY_S, abs=60)


def test_time_before_the_first_reading_is_not_above_and_not_cold(place):
    put(place, {int(timezone.now().timestamp()) - DAY_S: 1000})
    before = stood(place, timezone.now() - 9 * DAY, timezone.now() - 5 * DAY).record
    assert before.excursions == ()
    assert before.unknown_s == pytest.approx(4 * DAY_S, abs=60)


def test_a_first_reading_of_this_very_second_shows_already(place):
    now = timezone.now().replace(microsecond=0)
    put(place, {int(now.timestamp()): 1000})
    [found] = stood(place, now - DAY, now).record.excursions
    assert (found.from_s, found.is_open) == (int(now.timestamp()), True)


def test_a_winter_without_readings_hides_no_beginning(place):
    """Nobody read for 200 days and then 10 °C: nobody knows since when, so since the last one."""
    now_s = int(timezone.now().timestamp())
    put(place, {now_s - 200 * DAY_S: 400, now_s - DAY_S: 1000})
    for days in (0.5, 7, 30):
        [found] = stood(place, timezone.now() - days * DAY).record.excursions
        assert found.from_s == now_s - 200 * DAY_S
        assert found.unread_s == pytest.approx(200 * DAY_S, abs=60)


def test_a_limit_that_became_stricter_inside_it_began_it_that_midnight(venue, place):
    """The venue's own 5 °C begins ten days ago; 6 °C was good up to then."""
    now = timezone.now()
    day = venue.local(now).date() - 10 * DAY
    set_local_limit(
        venue=venue,
        rule="cold_holding.maximum",
        value=Decimal(5),
        valid_from=day,
        by=a_recorder(venue),
    )
    now_s = int(now.timestamp())
    put(place, dict.fromkeys(range(now_s - 20 * DAY_S, now_s, HALF_HOUR), 600))
    midnight = datetime.combine(day, datetime.min.time(), venue.zone)
    for days in (1, 7, 15):
        found = stood(place, now - days * DAY)
        [excursion] = found.record.excursions
        assert excursion.from_s == int(midnight.timestamp())
        assert found.standard.limit_changed is (days == 15)


def test_one_that_lasts_longer_than_it_is_followed_back_says_that_it_began_before(place):
    now_s = int(timezone.now().timestamp())
    put(place, dict.fromkeys(range(now_s - 120 * DAY_S, now_s, 6 * 3600), 1000))
    [found] = stood(place, timezone.now() - DAY).record.excursions
    assert found.begins_above
    assert found.above_s == pytest.approx(FOLLOWED_BACK_S + DAY_S, abs=6 * 3600)


def test_what_was_done_about_the_second_is_not_said_of_the_first(place):
    """One good reading ends the first and stands before the second."""
    now_s = int(timezone.now().timestamp())
    degrees = (400, 1000, 400, 1000, 400)
    times = range(now_s - 5 * HALF_HOUR, now_s, HALF_HOUR)
    put(place, dict(zip(times, degrees, strict=True)))
    first, second = stood(place, timezone.now() - DAY).record.excursions
    assert first.until_s == second.from_s
    act = said(place, second.from_s, hours_after=0)
    assert actions_about([(place, first), (place, second)]) == [[], [act]]


# However much lies behind


def test_many_warm_places_take_no_more_queries_than_one(venue, place):
    places = [place, *(a_place(venue) for _ in range(6))]
    for each in places:
        warm_for(each, 12, cold_days=1)
    at_house, now = house(venue), timezone.now()
    counts = []
    for some in (places[:1], places):
        with CaptureQueriesContext(connection) as made:
            assert len(warm_places(some, at_house, now)) == len(some)
        counts.append(len(made))
    assert counts[0] == counts[1] <= 5


def test_a_cold_place_with_a_long_log_is_read_from_just_before_the_stretch(place):
    now_s = int(timezone.now().timestamp())
    put(place, dict.fromkeys(range(now_s - 400 * DAY_S, now_s, 3600), 400))
    log = stood(place, timezone.now() - DAY).log
    assert sum(len(times) for times, _ in log.parts) <= 4
    assert log.first_s >= now_s - DAY_S - 3 * 3600


@pytest.mark.skipif(connection.vendor != "sqlite", reason="its planner's words are read")
def test_the_beginning_is_found_by_the_index_alone(place):
    warm_for(place, 1, cold_days=1)
    with CaptureQueriesContext(connection) as made:
        stood(place, timezone.now() - DAY)
    [sql] = [each["sql"] for each in made if "WITH held" in each["sql"]]
    with connection.cursor() as cursor:
        cursor.execute(f"EXPLAIN QUERY PLAN {sql}")
        plan = [row[3] for row in cursor.fetchall() if row[3].endswith(")") and " each " in row[3]]
    assert len(plan) == 4
    assert all(step.startswith("SEARCH each USING COVERING INDEX") for step in plan)
    assert all("place_id=?" in step and "at_s" in step for step in plan)


BEGIN = datetime(2026, 4, 13, tzinfo=UTC)
BEGIN_S = int(BEGIN.timestamp())
logs = st.lists(
    st.tuples(
        st.sampled_from([60, 600, 3600, 7201, 20_000, 90_000]),
        st.sampled_from([300, 500, 501, 790, 800, 801, 1200]),
    ),
    min_size=1,
    max_size=40,
)


@pytest.fixture
def held_stricter_then_not(place):
    """Hold a place to 5 °C on two days of four, to 8 °C on the others."""
    for degc, days in ((5, 1), (8, 3)):
        set_local_limit(
            venue=place.venue,
            rule="cold_holding.maximum",
            value=Decimal(degc),
            valid_from=(BEGIN + days * DAY).date(),
            by=a_recorder(place.venue),
        )
    return place


@given(logs, st.integers(0, 500_000))
@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_a_late_look_finds_what_an_early_look_finds(held_stricter_then_not, steps, later_s):
    place, at_s, readings = held_stricter_then_not, BEGIN_S, {}
    for step, degc in steps:
        at_s += step
        readings[at_s] = degc
    forget(place)
    put(place, readings)
    from_s = BEGIN_S + later_s
    late_at = datetime.fromtimestamp(from_s, UTC)
    until_at = datetime.fromtimestamp(max(at_s, from_s) + 3600, UTC)
    early, late = (stood(place, at, until_at).record for at in (BEGIN - DAY, late_at))
    past = early.reaching_past(from_s)
    assert late.excursions == past.excursions
    first_s = min(readings)
    assert known_gaps(late, first_s) == known_gaps(past, first_s)


def known_gaps(record, first_s):
    """Time before the first reading is no gap between two, and as long as one looks back."""
    return [(gap.from_s, gap.until_s) for gap in record.gaps if gap.until_s > first_s]
