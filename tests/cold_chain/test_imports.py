"""A logger's file goes in whole or not at all, once, and every row of it is accounted for."""

import io
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kegsafe.cold_chain.log_file import LogShape, Unit, UnreadableLog, sniff
from kegsafe.cold_chain.models import HourOfReadings, ImportedLog, LoggedReading, Logger
from kegsafe.cold_chain.services import (
    DoubtfulLog,
    import_log,
    record_reading,
    remembered,
)
from kegsafe.ledger.models import Entry
from kegsafe.ledger.services import create
from kegsafe.ledger.verification import verify_records
from tests.builders import a_place, a_recorder, a_venue
from tests.cold_chain.log_file.test_hostile_files import ANSWERS, HAND_MADE

pytestmark = pytest.mark.django_db

MONDAY = datetime(2026, 4, 13, 8, 0, tzinfo=UTC)


@pytest.fixture
def place():
    return a_place(a_venue("england", "Europe/London", units="metric"))


def a_file(*degrees: object, begins: datetime = MONDAY, every: int = 60) -> bytes:
    """Return a plain log that leaves nothing to ask."""
    rows = (
        f"{begins + timedelta(seconds=k * every):%Y-%m-%dT%H:%M:%SZ},{degc}"
        for k, degc in enumerate(degrees)
    )
    return "\n".join(["time,temperature (°C)", *rows, ""]).encode()


def take_in(place, content, **more):
    return import_log(
        place=place,
        stream=io.BytesIO(content),
        name=more.pop("name", "april.csv"),
        shape=more.pop("shape", None) or sniff(content).shape,
        by=a_recorder(place.venue),
        **more,
    )


def logged(place):
    return dict(LoggedReading.objects.filter(place=place).values_list("at_s", "centi_degc"))


def hours(place):
    return list(
        HourOfReadings.objects.filter(place=place)
        .order_by("hour")
        .values_list("readings", "coldest", "warmest", "first_s", "last_s", "longest_step_s")
    )


def test_every_good_row_is_in_the_log_at_its_second(place):
    done = take_in(place, a_file("3.1", "3.2", "5.04"))
    at_s = int(MONDAY.timestamp())
    assert logged(place) == {at_s: 310, at_s + 60: 320, at_s + 120: 504}
    assert (done.log.good, done.log.added, done.log.bad) == (3, 3, 0)


def test_an_import_is_one_entry_of_the_ledger_and_carries_the_hash_of_the_file(place):
    before = Entry.objects.count()
    log = take_in(place, a_file("3.1", "3.2")).log
    assert Entry.objects.count() == before + 1
    assert log.sha256 in Entry.objects.latest("sequence").record
    assert list(verify_records()) == []


def test_the_same_file_again_stops_at_its_hash(place):
    first = take_in(place, a_file("3.1", "3.2"))
    before = Entry.objects.count()
    again = take_in(place, a_file("3.1", "3.2"), name="copy of april.csv")
    assert (again.is_new, again.log) == (False, first.log)
    assert (Entry.objects.count(), ImportedLog.objects.count()) == (before, 1)


def test_a_longer_export_of_the_same_log_adds_only_what_is_new(place):
    take_in(place, a_file("3.1", "3.2"))
    log = take_in(place, a_file("3.1", "3.2", "3.3")).log
    assert (log.good, log.added, log.repeated, log.clashed) == (3, 1, 2, 0)
    assert len(logged(place)) == 3


def test_of_two_values_for_one_second_the_warmer_one_stays_and_the_clash_is_counted(place):
    take_in(place, a_file("3.1", "6.0"))
    log = take_in(place, a_file("4.5", "2.0")).log
    assert sorted(logged(place).values()) == [450, 600]
    assert log.clashed == 2


def test_a_second_that_stands_twice_in_one_file_is_kept_once_with_the_warmer_value(place):
    log = take_in(place, a_file("3.1", "6.0", "4.0", every=0)).log
    assert list(logged(place).values()) == [600]
    assert (log.good, log.added, log.clashed) == (3, 1, 2)


def test_a_bad_row_is_listed_with_its_line_and_stops_nothing(place):
    content = a_file("3.1", "error", "3.3")
    log = take_in(place, content).log
    assert (log.good, log.bad) == (2, 1)
    [row] = log.bad_rows.all()
    assert row.line == 3
    assert '"error" is no temperature' in row.reason


def test_of_very_many_bad_rows_the_first_are_kept_and_all_are_counted(place):
    log = take_in(place, a_file("3.1", *["broken"] * 800)).log
    assert (log.bad, log.bad_rows.count()) == (800, 500)


def test_a_file_without_one_good_row_leaves_nothing(place):
    shape = sniff(a_file("3.1")).shape
    with pytest.raises(ValidationError, match=r"No row could be read\. The first is line 2"):
        take_in(place, a_file("broken"), shape=shape)
    assert not ImportedLog.objects.exists()


def test_a_file_that_may_be_misread_as_a_whole_is_asked_about_and_leaves_nothing(place):
    content = a_file("3.1", "3.2") + b"time,temperature (\xc2\xb0F)\n2026-04-13T09:00:00Z,39\n"
    with pytest.raises(DoubtfulLog) as asked:
        take_in(place, content)
    assert "another unit may follow" in asked.value.doubts[0]
    assert not logged(place)
    log = take_in(place, content, accept_doubts=True).log
    assert log.doubts_accepted == list(asked.value.doubts)


def test_a_reading_of_tomorrow_is_refused(place):
    tomorrow = datetime.now(UTC) + timedelta(days=1)
    log = take_in(place, a_file("3.1") + a_file("3.2", begins=tomorrow).split(b"\n", 1)[1]).log
    assert (log.good, log.bad) == (1, 1)


def test_the_shape_is_remembered_for_its_logger_and_answers_the_next_file(place):
    logger = Logger(place=place, name="Grey box")
    create(logger, by=a_recorder(place.venue), action="added")
    content = b"When,Value\n03/04/2026 10:00,38.5\n03/04/2026 10:15,39\n"
    asked = sniff(content)
    assert {each.field for each in asked.questions} == {"unit", "date_order", "zone"}
    shape = asked.shape.chosen(unit="degF", date_order="dmy", zone="Europe/London")
    take_in(place, content, shape=shape, logger=logger)
    logger.refresh_from_db()
    later = sniff(content.replace(b"10:", b"11:"))
    assert remembered(later, logger.shape) == shape
    assert list(verify_records()) == []


def test_what_a_file_says_itself_is_not_overruled_by_what_is_remembered(place):
    kept = sniff(a_file("3.1")).shape.chosen(unit=Unit.FAHRENHEIT).as_json()
    assert remembered(sniff(a_file("3.1")), kept).unit is Unit.CELSIUS


def test_a_remembered_shape_that_does_not_fit_the_new_file_is_left_alone():
    asked = sniff(b"When;Value\n03/04/2026 10:00;3\n")
    other = sniff(a_file("3.1")).shape.as_json()
    assert remembered(asked, other) == asked.shape


def test_readings_by_hand_and_from_a_file_stand_in_one_column(place):
    take_in(place, a_file("3.1"))
    later = MONDAY + timedelta(hours=1)
    record_reading(
        place=place,
        read_at=later,
        temperature_degc=Decimal("4.2"),
        by=a_recorder(place.venue),
    )
    assert list(logged(place).values()) == [310, 420]


def test_the_hours_are_the_same_whether_a_log_comes_at_once_or_in_pieces(place):
    degrees = [f"{3 + k % 7 / 10:.1f}" for k in range(600)]
    other = a_place(place.venue)
    take_in(place, a_file(*degrees))
    take_in(other, a_file(*degrees[::7], every=420))
    take_in(other, a_file(*degrees))
    assert logged(place) == logged(other)
    assert hours(place) == hours(other)
    assert hours(place)[0] == (
        60,
        300,
        360,
        int(MONDAY.timestamp()),
        int(MONDAY.timestamp()) + 3540,
        60,
    )


@pytest.mark.parametrize("name", HAND_MADE)
def test_a_hostile_file_is_taken_in_or_refused_with_a_sentence(place, name):
    log = _outcome(place, HAND_MADE[name])
    if log is not None:
        assert len(logged(place)) == log.added
        assert log.good + log.bad > 0
    else:
        assert not logged(place)


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["2026-04-13", "13/04/2026", "04/13/2026", "1900-01-01", ""]),
            st.sampled_from(["10:00", "25:00", "1:30 PM", ""]),
            st.sampled_from(["4.2", "4,2", "39.5 F", "-999", "", "\x00", "4.2 C"]),
        ),
        max_size=12,
    ),
    st.sampled_from([",", ";", "\t"]),
)
@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_arrangement_of_likely_cells_is_accounted_for_row_by_row(place, rows, separator):
    lines = [f"{day} {clock}{separator}{degc}" for day, clock, degc in rows]
    log = _outcome(place, "\n".join(lines).encode())
    if log is not None:
        assert log.good == log.added + log.repeated + log.clashed


def _outcome(place, content):
    """Return the record of an import, or None where it was refused in words."""
    try:
        asked = sniff(content)
        shape: LogShape = asked.shape.chosen(
            **{
                each.field: ANSWERS.get(each.field, each.choices[0][0] if each.choices else None)
                for each in asked.questions
            }
        )
        return take_in(place, content, shape=shape).log
    except (UnreadableLog, DoubtfulLog, ValidationError):
        return None
