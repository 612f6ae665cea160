"""Moments, spans, verdicts and quantities as every page writes them."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.template import Context, RequestContext, Template
from django.test import RequestFactory
from django.utils import timezone

from kegsafe.frame.templatetags.kegsafe import (
    duration,
    limit_words,
    local_date,
    local_time,
    outcome_word,
    recorded,
    severity_word,
    time_left,
    verified_word,
)
from kegsafe.rules.codes import code
from kegsafe.rules.findings import Outcome, Severity

NOW = datetime(2026, 4, 7, 12, 0, tzinfo=UTC)


@pytest.fixture
def in_london():
    with timezone.override(ZoneInfo("Europe/London")):
        yield


def test_a_moment_is_written_in_the_venues_own_time(in_london):
    assert local_time(datetime(2026, 4, 7, 22, 59, tzinfo=UTC)) == "Tue 7 Apr 2026, 23:59"


def test_the_same_moment_reads_differently_in_another_venue():
    with timezone.override(ZoneInfo("America/New_York")):
        assert local_time(datetime(2026, 4, 7, 22, 59, tzinfo=UTC)) == "Tue 7 Apr 2026, 18:59"


def test_the_hour_that_comes_twice_names_its_zone(in_london):
    """The clocks go back on 25 October 2026 at 01:00 UTC."""
    assert local_time(datetime(2026, 10, 25, 0, 30, tzinfo=UTC)) == "Sun 25 Oct 2026, 01:30 BST"
    assert local_time(datetime(2026, 10, 25, 1, 30, tzinfo=UTC)) == "Sun 25 Oct 2026, 01:30 GMT"
    assert local_time(datetime(2026, 10, 25, 2, 0, tzinfo=UTC)) == "Sun 25 Oct 2026, 02:00"


def test_a_day_is_the_venues_day_even_late_in_the_evening(in_london):
    assert local_date(datetime(2026, 4, 7, 23, 30, tzinfo=UTC)) == "Wed 8 Apr 2026"
    assert local_date(date(2028, 2, 29)) == "Tue 29 Feb 2028"


@pytest.mark.parametrize("write", [local_time, local_date, time_left, duration])
def test_a_time_nobody_recorded_is_said_to_be_missing(write):
    assert write(None) == "not recorded"


@pytest.mark.parametrize(
    ("ahead", "words"),
    [
        (timedelta(days=2, hours=3, minutes=59), "2 days 3 h left"),
        (timedelta(days=1), "1 day left"),
        (timedelta(hours=23, minutes=59, seconds=59), "23 h 59 min left"),
        (timedelta(hours=4), "4 h left"),
        (timedelta(minutes=1), "1 min left"),
        (timedelta(seconds=59), "under 1 min left"),
        (timedelta(0), "just now"),
        (timedelta(seconds=-59), "just now"),
        (timedelta(hours=-4), "4 h ago"),
        (timedelta(days=-3, minutes=-10), "3 days ago"),
    ],
)
def test_the_time_left_never_says_more_than_is_left(ahead, words):
    with time_machine.travel(NOW, tick=False):
        assert time_left(NOW + ahead) == words


@pytest.mark.parametrize(
    ("span", "words"),
    [
        (timedelta(minutes=15), "15 min"),
        (timedelta(hours=5, minutes=20), "5 h 20 min"),
        (timedelta(seconds=30), "0 min"),
    ],
)
def test_a_span_is_written_in_its_two_largest_units(span, words):
    assert duration(span) == words


def test_every_outcome_has_words_that_need_no_colour():
    words = {outcome_word(outcome) for outcome in Outcome}
    assert words == {"Pour", "Ask the manager", "Do not pour"}


def test_every_severity_has_a_word_of_its_own():
    assert len({severity_word(severity) for severity in Severity}) == len(Severity)


@pytest.mark.parametrize("claim", ["safe", "approved", "certified", "compliant"])
def test_no_word_of_the_frame_claims_what_only_a_person_may_say(claim):
    words = [outcome_word(outcome) for outcome in Outcome]
    words += [severity_word(severity) for severity in Severity]
    assert not [word for word in words if claim in word.lower()]


def test_an_outcome_nobody_knows_is_refused_rather_than_shown_as_fine():
    with pytest.raises(KeyError):
        outcome_word("fine")


def test_a_source_says_how_it_was_seen():
    assert verified_word("memory") == "from memory"
    assert verified_word("record") == "on record"
    assert verified_word("invented") == "invented"


@pytest.mark.parametrize("nothing", [None, ""])
def test_a_blank_is_never_left_blank(nothing):
    assert "not recorded" in recorded(nothing)


@pytest.mark.parametrize("something", [0, False, "0"])
def test_a_nought_on_record_is_on_record(something):
    assert recorded(something) == something


def _written(units: str, value: Decimal | None, more: str = "") -> str:
    request = RequestFactory().get("/")
    request.venue = SimpleNamespace(units=units)
    page = Template('{% load kegsafe %}{% quantity value "volume" ' + more + " %}")
    return page.render(RequestContext(request, {"value": value}))


def test_a_quantity_is_written_in_the_venues_units():
    assert _written("metric", Decimal(19000)) == "19 L"
    assert _written("us", Decimal(19000)) == "5.02 gal"


def test_a_quantity_can_be_written_in_both_systems():
    assert _written("metric", Decimal(19000), "both=True") == "19 L (5.02 gal)"


def test_a_quantity_nobody_recorded_is_said_to_be_missing():
    assert _written("metric", None) == "not recorded"


def test_a_page_without_a_venue_writes_metric():
    page = Template('{% load kegsafe %}{% quantity value "volume" %}')
    assert page.render(Context({"value": Decimal(19000)})) == "19 L"


@pytest.mark.parametrize(
    ("rule", "words"),
    [
        ("cold_holding.maximum", "5 °C (41 °F)"),
        ("thermometer.food_accuracy", "1 °C (1.8 °F)"),
        ("date_marking.days", "7 days"),
    ],
)
def test_a_limit_of_temperature_is_written_on_both_scales(rule, words):
    """FDA Food Code 2022, 3-501.16(A)(2): 5 °C (41 °F); 3-501.17(A): 7 days. [second-hand]"""
    assert limit_words(code("us_fda_2022").limit(rule, date(2026, 4, 7))) == words
