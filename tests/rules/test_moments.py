"""How days and moments are written: as the pages write them, and never two ways to read one."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from kegsafe.frame.templatetags.kegsafe import local_date
from kegsafe.rules.moments import at_moment, on_day
from kegsafe.rules.pour_check import pour_check
from tests.rules.pour_facts import DEFECTS, NOW, whole_facts

LONDON = ZoneInfo("Europe/London")


def test_a_day_is_written_with_its_weekday_and_its_month_in_letters():
    assert on_day(date(2026, 11, 24)) == "Tue 24 Nov 2026"
    assert on_day(date(2028, 2, 29)) == "Tue 29 Feb 2028"


def test_a_moment_is_written_by_the_clock_of_its_zone():
    assert at_moment(datetime(2026, 11, 24, 23, 59, 59, tzinfo=UTC), LONDON) == (
        "Tue 24 Nov 2026, 23:59"
    )
    assert at_moment(datetime(2026, 7, 1, 23, 30, tzinfo=UTC), LONDON) == "Thu 2 Jul 2026, 00:30"


def test_the_hour_that_comes_twice_names_its_zone():
    """Clocks went back in London on 25 October 2026 at 01:00 UTC (tz database)."""
    assert at_moment(datetime(2026, 10, 25, 0, 30, tzinfo=UTC), LONDON).endswith("01:30 BST")
    assert at_moment(datetime(2026, 10, 25, 1, 30, tzinfo=UTC), LONDON).endswith("01:30 GMT")
    assert at_moment(datetime(2026, 10, 25, 2, 0, tzinfo=UTC), LONDON).endswith("02:00")


@pytest.mark.parametrize("day", [date(2026, 1, 5), date(2026, 9, 30), date(2027, 12, 31)])
def test_a_page_writes_a_day_as_a_finding_does(day):
    assert local_date(day) == on_day(day)


@pytest.mark.parametrize("defect", DEFECTS, ids=str)
def test_no_finding_of_a_pour_check_writes_a_date_in_figures(defect):
    for finding in pour_check(DEFECTS[defect](whole_facts()), NOW).findings:
        said = [finding.statement, *(text for _, text in finding.evidence)]
        assert not any("2026-" in text for text in said), said
