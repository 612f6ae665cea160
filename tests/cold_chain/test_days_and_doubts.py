"""Each day of a place is held to its own limit; readings nobody can vouch for are said to be so."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from kegsafe.cold_chain import services
from kegsafe.cold_chain.queries.standing import standards, standings, warm_places
from kegsafe.stock.facts import house
from kegsafe.venues.services import set_local_limit
from tests.builders import a_person, a_place, a_recorder, a_venue
from tests.query_counts import queries_of

pytestmark = pytest.mark.django_db

NOW = timezone.now()


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


def read_daily(place, degc, *, days=6):
    """Read a place four times a day, so that no gap is in it."""
    for quarter in range(days * 4, -1, -1):
        services.record_reading(
            place=place,
            read_at=timezone.now() - timedelta(hours=3 * quarter),
            temperature_degc=Decimal(degc),
            by=a_recorder(place.venue),
        )


def own_limit(venue, degc, *, days_ago):
    day = venue.local(timezone.now()).date() - timedelta(days=days_ago)
    set_local_limit(
        venue=venue,
        rule="cold_holding.maximum",
        value=Decimal(degc),
        valid_from=day,
        by=a_recorder(venue),
    )
    return day


def standing_of(place, *, days=3):
    now = timezone.now()
    [found] = standings([place], house(place.venue), now - timedelta(days=days), now, now)
    return found


def test_a_limit_of_today_says_nothing_of_yesterday(venue, place):
    """SI 2013/2996, Schedule 4: 8 °C. [read] The venue's own 5 °C holds from today on."""
    read_daily(place, "6")
    today = own_limit(venue, "5", days_ago=0)
    found = standing_of(place)
    [excursion] = found.record.excursions
    begins = venue.local(timezone.now()).replace(hour=0, minute=0, second=0, microsecond=0)
    assert begins.date() == today
    assert excursion.from_s == int(begins.timestamp())
    assert excursion.is_open
    assert found.standard.limit == 500


def test_the_same_limit_from_three_days_ago_on_is_another_matter(venue, place):
    read_daily(place, "6")
    own_limit(venue, "5", days_ago=30)
    [excursion] = standing_of(place).record.excursions
    assert excursion.above_s == 3 * 86_400


def test_the_chart_and_the_page_show_that_the_limit_changed(manager, venue, place):
    read_daily(place, "6")
    own_limit(venue, "5", days_ago=1)
    address = reverse("cold-place", args=[place.pk])
    assert "The limit changed in this time" in manager.get(f"{address}?span=week").content.decode()
    chart = reverse("cold-chart", args=[place.pk, "wide"])
    drawn = [
        manager.get(f"{chart}?span={span}").content.decode().count("stroke-dasharray: 7")
        for span in ("day", "week")
    ]
    assert drawn == [1, 2]


def a_probe(place, *checks):
    """Put a thermometer into a place, checked in ice so many days ago with such a result."""
    venue = place.venue
    by = a_recorder(venue)
    probe = services.add_thermometer(venue=venue, name="Probe 1", is_air=False, by=by)
    services.set_cooling(place=place, values={"thermometer": probe}, by=by)
    for days_ago, degc in checks:
        services.record_check(
            thermometer=probe,
            checked_at=timezone.now() - timedelta(days=days_ago),
            method="ice_point",
            read_degc=Decimal(degc),
            by=by,
        )
    return probe


def page_of(client, place):
    return client.get(reverse("cold-place", args=[place.pk])).content.decode()


def rows_marked(page):
    return page.count(" doubtful</span>")


@pytest.mark.parametrize(
    ("checks", "said"),
    [
        ([], "Not checked: this thermometer was never held in ice"),
        ([(40, "0.1")], "Not checked: the check of this thermometer was due"),
        ([(20, "0.1"), (1, "3.0")], "are doubtful: the thermometer failed its check"),
    ],
)
def test_readings_of_an_unchecked_or_failed_thermometer_are_doubtful_in_words_and_rows(
    manager, place, checks, said
):
    a_probe(place, *checks)
    read_daily(place, "4", days=1)
    page = page_of(manager, place)
    assert said in page
    assert rows_marked(page) > 0
    assert "Broken line: doubtful" in page


def test_readings_of_a_checked_thermometer_are_not(manager, place):
    a_probe(place, (3, "0.1"))
    read_daily(place, "4", days=1)
    page = page_of(manager, place)
    assert rows_marked(page) == 0
    assert "doubtful" not in page


def test_a_place_without_a_thermometer_says_that_nobody_checked_it(manager, place):
    read_daily(place, "4", days=1)
    page = page_of(manager, place)
    assert "No thermometer is on record for this place" in page
    assert rows_marked(page) > 0


def test_what_the_thermometer_may_be_off_counts_in_the_stretch_of_doubt(place):
    """FDA Food Code 4-203.11 gives the 1 °C that this code's house value follows. [read]"""
    a_probe(place, (31, "0"))
    read_daily(place, "7.5")
    [excursion] = standing_of(place).record.excursions
    assert excursion.above_s == pytest.approx(86_400, abs=60)


def test_the_warm_places_of_a_bar_cost_five_queries_however_many(
    venue, place, django_assert_max_num_queries
):
    at_house = house(venue)
    places = [place, *(a_place(venue) for _ in range(20))]
    for each in places:
        services.record_reading(
            place=each,
            read_at=timezone.now() - timedelta(hours=1),
            temperature_degc=Decimal(12),
            by=a_recorder(venue),
        )
    with django_assert_max_num_queries(5):
        found = warm_places(places, at_house, timezone.now())
    assert len(found) == 21
    assert all(each.excursion.is_open for each in found)


def test_a_change_of_limits_costs_the_page_no_query(manager, venue, place):
    read_daily(place, "9")
    address = reverse("cold-place", args=[place.pk]) + "?span=year"
    before = queries_of(manager, address)
    for days_ago in range(1, 6):
        own_limit(venue, f"{days_ago + 2}", days_ago=days_ago)
    assert queries_of(manager, address) == before


def test_a_standard_of_now_holds_one_limit(venue, place):
    own_limit(venue, "5", days_ago=3)
    standard = standards([place], house(venue), timezone.now())[place.pk]
    assert [each.limit for each in standard.held] == [500]
