"""The log: filters, pages that neither repeat nor skip, few queries, and a year at a glance."""

from datetime import timedelta

import pytest
from django.utils import timezone

from kegsafe.cleaning import services
from kegsafe.cleaning.models import Cycle
from kegsafe.cleaning.queries.log import Position, cycle_log, log_page
from kegsafe.cleaning.queries.year import year_of
from tests.builders import a_line, a_person, a_venue
from tests.cleaning.cycle_acts import Cleaner, a_plan
from tests.query_counts import queries_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def venue():
    return a_venue()


@pytest.fixture
def jonas(venue):
    return Cleaner(venue)


@pytest.fixture
def staff(client, venue):
    client.force_login(a_person(venue, "staff"))
    return client


def _a_complete_cycle(jonas, plan, line, **ago):
    (cycle,) = jonas.starts(plan, line, at=timezone.now() - timedelta(hours=6, **ago))
    return jonas.does_all(cycle)


def _given_up(jonas, plan, line, at):
    (cycle,) = jonas.starts(plan, line, at=at)
    return services.give_up_cycle(cycle=cycle, reason="No water", by=jonas.by)


def test_a_row_says_chemical_batch_strength_temperature_time_and_proof(staff, venue, jonas):
    _a_complete_cycle(jonas, a_plan(venue), a_line(venue, name="3"))
    page = staff.get("/cleaning/cycles/").content.decode()
    for said in ("Line cleaner, alkaline, batch B1", "2.5 % (as dosed)", "35 °C", "25 min",
                 "tap water 7.4 pH; rinse water 7.4 pH", "jonas"):  # fmt: skip
        assert said in page


def test_the_log_is_found_by_piece_person_result_and_day(venue, jonas):
    plan, one, two = a_plan(venue), a_line(venue), a_line(venue)
    good = _a_complete_cycle(jonas, plan, one)
    bad = _given_up(jonas, plan, two, timezone.now() - timedelta(days=40))
    for wanted, found in (
        ({"piece": f"line-{one.pk}"}, [good]),
        ({"result": "given_up"}, [bad]),
        ({"person": "JONAS"}, [good, bad]),
        ({"person": "ana"}, []),
        ({"since": timezone.now() - timedelta(days=2)}, [good]),
        ({"until": timezone.now() - timedelta(days=2)}, [bad]),
    ):
        assert list(cycle_log(venue, **wanted)) == found, wanted


def test_pages_neither_repeat_nor_skip_cycles_of_one_moment(venue, jonas):
    plan, moment = a_plan(venue), timezone.now() - timedelta(days=1)
    every = [_given_up(jonas, plan, a_line(venue), moment) for _ in range(5)]
    read, after = [], None
    while found := list(cycle_log(venue, after=after)[:2]):
        read += found
        after = Position.read(str(Position.of(found[-1])))
    assert read == every[::-1]


def _noted(venue, jonas, line, at, method="Flushed"):
    (clean,) = services.record_cleans(
        venue=venue,
        items=[line],
        cleaned_at=at,
        method=method,
        sanitised=False,
        is_allergen_clean=False,
        verification="none",
        by=jonas.by,
    )
    return clean


def test_cleans_noted_without_a_plan_stand_between_the_cycles_in_one_log(staff, venue, jonas):
    plan, line = a_plan(venue), a_line(venue, name="3")
    _a_complete_cycle(jonas, plan, line, days=3)
    _noted(venue, jonas, line, timezone.now() - timedelta(days=2), "Flushed after the party")
    _a_complete_cycle(jonas, plan, line, days=1)
    rows = staff.get("/cleaning/cycles/").context["rows"]
    assert [row.result for row in rows] == ["complete", "noted", "complete"]
    page = staff.get("/cleaning/cycles/", {"result": "noted"}).content.decode()
    assert "As noted: Flushed after the party" in page
    assert "No plan was followed: it does not count" in page
    exported = staff.get("/labels/cleaning-log.csv").content.decode()
    assert "As noted: Flushed after the party" in exported


def test_pages_of_the_one_log_neither_repeat_nor_skip(venue, jonas):
    """Of one moment the cycles come first; then, as everywhere, the newest."""
    plan, moment = a_plan(venue), timezone.now() - timedelta(days=1)
    earlier = moment - timedelta(days=1)
    for at in (earlier, moment):
        for _ in range(3):
            _given_up(jonas, plan, a_line(venue), at)
            _noted(venue, jonas, a_line(venue), at)
    whole = log_page(venue, 50)
    assert [type(each).__name__ for each in whole[:6]] == ["Cycle"] * 3 + ["CleaningRecord"] * 3
    for size in (1, 2, 5):
        read, after = [], None
        while found := log_page(venue, size, after=after):
            read += found
            after = Position.read(str(Position.of(found[-1])))
        assert read == whole


def test_a_noted_clean_is_found_by_piece_person_and_day(venue, jonas):
    line, moment = a_line(venue), timezone.now() - timedelta(days=5)
    clean = _noted(venue, jonas, line, moment)
    for wanted, found in (
        ({"piece": f"line-{line.pk}"}, [clean]),
        ({"piece": "tap-1"}, []),
        ({"person": "JONAS"}, [clean]),
        ({"person": "ana"}, []),
        ({"since": moment}, [clean]),
        ({"until": moment}, []),
        ({"result": "noted"}, [clean]),
        ({"result": "complete"}, []),
    ):
        assert log_page(venue, 10, **wanted) == found, wanted


def test_a_position_that_nobody_wrote_is_the_first_page(staff):
    for typed in ("x", "1-", "99999999999999999999999999-1", "1-1-1", "1-nn1", "1-n"):
        assert staff.get("/cleaning/cycles/", {"after": typed}).status_code == 200


def test_a_full_page_takes_as_many_queries_as_one_row(staff, venue, jonas):
    plan, line = a_plan(venue), a_line(venue)
    _a_complete_cycle(jonas, plan, line, days=1)
    few = queries_of(staff, "/cleaning/cycles/")
    for days in range(2, 12):
        _a_complete_cycle(jonas, plan, line, days=days)
    assert queries_of(staff, "/cleaning/cycles/") == few
    assert few <= 16


def test_a_year_shows_the_gravest_of_a_day_and_says_it_in_words(staff, venue, jonas):
    plan, line = a_plan(venue), a_line(venue)
    for days in (2, 12):
        _a_complete_cycle(jonas, plan, line, days=days)
    _given_up(jonas, plan, line, Cycle.objects.order_by("started_at").last().started_at)
    year = year_of(line, timezone.localdate(timezone=venue.zone))
    shown = {day.on: day.result for days in year.weekdays for day in days if day.result}
    assert sorted(shown.values()) == ["complete", "given_up"]
    assert year.longest_gap_days == 10
    page = staff.get(f"/cleaning/lines/{line.pk}/year/").content.decode()
    assert "Longest time between two cycles that counted: 10 days" in page
