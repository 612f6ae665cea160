"""The calendar of due dates: RFC 5545, and the same dates as page and command."""

from datetime import UTC, date, datetime

import pytest
from django.urls import reverse
from django.utils import timezone

from kegsafe.pressure import services
from kegsafe.pressure.queries import register
from kegsafe.reports.due_calendar import due_calendar, escaped, folded
from tests.builders import a_person, a_recorder, a_venue

TODAY = date(2026, 3, 1)


@pytest.fixture
def venue(db):
    bar = a_venue()
    by = a_recorder(bar)
    services.add_item(
        venue=bar,
        kind="cylinder",
        name="C1, left; by the door",
        cylinder_rule="us.3al",
        stamped_on=date(2021, 6, 1),
        by=by,
    )
    services.add_item(venue=bar, kind="hose", name="H1", marked_on=date(2022, 5, 1), by=by)
    return bar


def _unfolded(text):
    """Undo what RFC 5545 3.1 does to a long line."""
    return text.replace("\r\n ", "").split("\r\n")


def _calendar(venue):
    made_at = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
    return due_calendar(venue, register(venue, TODAY), TODAY, made_at)


def _days(lines):
    return sorted(line.partition(":")[2] for line in lines if line.startswith("DTSTART"))


def test_each_dated_answer_of_the_rule_is_an_event_and_the_rest_are_one(venue):
    lines = _unfolded(_calendar(venue))
    dated = [each for row in register(venue, TODAY) for each in row.dues if each.due_on]
    expected = sorted([*(f"{each.due_on:%Y%m%d}" for each in dated), "20260301"])
    assert _days(lines) == expected
    assert {"20260601", "20270501"} <= set(_days(lines))
    assert "SUMMARY:2 dates not known: treat as due" in lines


def test_it_is_a_calendar_as_the_standard_writes_one(venue):
    text = _calendar(venue)
    lines = _unfolded(text)
    assert (lines[0], lines[1], lines[-2]) == ("BEGIN:VCALENDAR", "VERSION:2.0", "END:VCALENDAR")
    assert "\n" not in text.replace("\r\n", "")
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
    assert lines.count("BEGIN:VEVENT") == lines.count("END:VEVENT")
    assert sum(line.startswith("UID:") for line in lines) == lines.count("BEGIN:VEVENT")
    assert len({line for line in lines if line.startswith("UID:")}) == lines.count("BEGIN:VEVENT")
    assert "DTSTAMP:20260301T120000Z" in lines


def test_what_people_typed_ends_no_line_and_begins_no_event(venue):
    assert (
        "SUMMARY:Gas cylinder C1\\, left\\; by the door: Periodic inspection or requalification"
        in (_unfolded(_calendar(venue)))
    )
    assert escaped("a\r\nBEGIN:VEVENT\\") == "a\\nBEGIN:VEVENT\\\\"


@pytest.mark.parametrize("text", ["", "x" * 75, "x" * 76, "é" * 200, "🜁" * 60])
def test_a_long_line_is_folded_between_letters(text):
    parts = list(folded(text))
    assert all(len(part.encode()) <= 75 for part in parts)
    assert parts[0] + "".join(part[1:] for part in parts[1:]) == text
    assert all(part.startswith(" ") for part in parts[1:])


def test_everybody_of_the_bar_may_fetch_it(client, venue):
    client.force_login(a_person(venue))
    answer = client.get(reverse("due-calendar"))
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    today = timezone.localdate(timezone=venue.zone)
    dated = [each for row in register(venue, today) for each in row.dues if each.due_on]
    assert len(_days(_unfolded(answer.content.decode()))) == len(dated) + 1
