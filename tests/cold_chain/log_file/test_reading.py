"""Every row is a reading that the file says, or a bad row with its line and a reason."""

import io
from datetime import UTC, datetime

import pytest

from kegsafe.cold_chain.log_file import (
    SNIFFED_BYTES,
    BadRow,
    LogReading,
    UnreadableLog,
    read,
    sniff,
)

ANSWERS = {"unit": "degC", "zone": "UTC", "date_order": "dmy", "decimal": "."}


def reader_of(content, until_s=None, **answers):
    """Sniff and open a file; what it does not show is answered from `answers`, or ANSWERS."""
    content = content.encode() if isinstance(content, str) else content
    sniffed = sniff(content[:SNIFFED_BYTES])
    open_fields = {question.field for question in sniffed.questions}
    given = {name: value for name, value in ANSWERS.items() if name in open_fields}
    for question in sniffed.questions:
        if question.field in {"time_columns", "temperature_column"}:
            given[question.field] = question.choices[0][0]
    return read(io.BytesIO(content), sniffed.shape.chosen(**{**given, **answers}), until_s)


def rows_of(content, **answers):
    reader = reader_of(content, **answers)
    rows = list(reader)
    assert reader.good == sum(isinstance(row, LogReading) for row in rows)
    assert reader.bad == sum(isinstance(row, BadRow) for row in rows)
    return rows, reader


def said(rows):
    """Readings as local-free text and degC; bad rows as their line."""
    return [
        (f"{datetime.fromtimestamp(row.at_s, UTC):%Y-%m-%d %H:%M:%S}", row.centi_degc / 100)
        if isinstance(row, LogReading)
        else row.line
        for row in rows
    ]


@pytest.mark.parametrize(
    ("text", "answers"),
    [
        ("t,°C\n2026-04-13 10:00,4.2\n", {}),
        ("t,°C\n2026-04-13T10:00:00Z,4.2\n", {}),
        ("t,°C\n2026-04-13T12:00:00+02:00,4.2\n", {}),
        ("t,°C\n2026-04-13 10:00:00.000,4.2\n", {}),
        ("t;°C\n13.04.2026 10:00;4,2\n", {}),
        ("t;°C\n13/04/26 10:00;4,2\n", {"date_order": "dmy"}),
        ("t,°C\n4/13/2026 10:00 AM,4.2\n", {}),
        ("t,°C\n4/13/2026 10:00:00 a.m.,4.2\n", {}),
        ("t,°C\n13-Apr-2026 10:00,4.2\n", {}),
        ("t;°C\n13 April 2026 10:00;4,2\n", {}),
        ('t,°C\n"Apr 13, 2026 10:00","4.2"\n', {}),
        ("t,°C\n20260413 10:00,4.2\n", {}),
        ("d,t,°C\n2026-04-13,10:00,4.2\n", {}),
        ("t,°C\n2026-04-13 11:00,4.2\n", {"zone": "Europe/London"}),
        ("t,°C\n2026-04-13 11:00,4.2\n", {"zone": "+01:00"}),
        ("t,°F\n2026-04-13 10:00,39.56\n", {}),
        ("t,°C\r2026-04-13 10:00,4.2\r", {}),
        ("t,°C\r\n2026-04-13 10:00, +4.2 °C \r\n", {}),
        ("\n\nSerial,7\n\nt,°C\n2026-04-13 10:00,4.2", {}),
    ],
)
def test_the_common_ways_to_write_one_reading_say_the_same(text, answers):
    rows, reader = rows_of(text, **answers)
    assert said(rows) == [("2026-04-13 10:00:00", 4.2)]
    assert reader.doubts == []


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
def test_every_encoding_gives_the_same_rows(encoding):
    rows, _ = rows_of("t;°C\n13.04.2026 10:00;4,2\n".encode(encoding))
    assert said(rows) == [("2026-04-13 10:00:00", 4.2)]


GOOD = "2026-04-13 10:00,4.2\n"


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ("2026-04-13 10:15,", "empty"),
        ("2026-04-13 10:15,---", "no temperature"),
        ("2026-04-13 10:15,NaN", "no temperature"),
        ("2026-04-13 10:15,inf", "no temperature"),
        ("2026-04-13 10:15,1e1", "no temperature"),
        ("2026-04-13 10:15,-127", "error code"),
        ("2026-04-13 10:15,85.0", "error code"),
        ("2026-04-13 10:15,999.9", "error code"),
        ("2026-04-13 10:15,38 °F", "is in °F; the file is read in °C"),
        ('2026-04-13 10:15,"4,3"', 'has a "," where this file has "."'),
        ("2026-04-13 10:15", "1 cells; rows here have 2"),
        ("2026-04-13 10:15,4,3", "3 cells; rows here have 2"),
        ("4.3,2026-04-13 10:15", "no day with a time"),
        ("2026-04-13 25:15,4.3", "no time of day"),
        ("2026-04-13 10:60,4.3", "no time of day"),
        ("2026-04-13 10:15 PM,4.3", "has an am or pm, unlike the other rows"),
        ("2026-04-13 10:15Z,4.3", "has an offset of its own"),
        ("2026-02-30 10:15,4.3", "no day"),
        ("1900-01-01 10:15,4.3", "before 2000"),
        ("13/04/2026 10:15,4.3", "no day when read as ymd"),
        ("20260413 10:15,4.3", "written unlike the other dates"),
        ('"2026-04-13 10:15,4.3', "quote is opened and not closed"),
        ("end of file,", "no day with a time"),
        ("t,°C", "no day with a time"),
        ("2026-04-13 10:15,4\x00.3", "no temperature"),
        ("2026-04-13 10:15,٤", "no temperature"),
        ("2026-04-13 10:15,4.3" + " " * 30_000, "longer than"),
    ],
)
def test_a_broken_row_is_named_and_stops_nothing(row, reason):
    shape = sniff(f"t,°C\n{GOOD}".encode()).shape.chosen(zone="UTC")
    text = f"t,°C\n{GOOD}{row}\n2026-04-13 10:30,4.4\n"
    reader = read(io.BytesIO(text.encode()), shape)
    rows = list(reader)
    assert said(rows) == [("2026-04-13 10:00:00", 4.2), 3, ("2026-04-13 10:30:00", 4.4)]
    assert reason in rows[1].reason
    assert reader.bad == 1


def test_a_line_of_ten_megabytes_is_one_bad_row():
    rows, _ = rows_of(f"t,°C\n{GOOD}{'x' * 10_000_000}\n2026-04-13 10:30,4.4\n")
    assert said(rows)[1:] == [3, ("2026-04-13 10:30:00", 4.4)]


def test_a_byte_that_is_no_utf_8_spoils_its_own_row_alone():
    head = GOOD.encode() * 20_000
    rows, _ = rows_of(b"t,temp_c\n" + head + b"2026-04-13 10:15,4.\xff3\n" + GOOD.encode())
    assert [row.line for row in rows if isinstance(row, BadRow)] == [20_002]


def test_a_temperature_is_rounded_to_the_warmer_hundredth():
    rows, _ = rows_of("t,°C\n2026-04-13 10:00,5.001\n2026-04-13 10:01,-0.009\n")
    assert [row.centi_degc for row in rows] == [501, 0]


def test_41_degf_is_exactly_5_degc():
    rows, _ = rows_of("t,°F\n2026-04-13 10:00,41\n2026-04-13 10:01,41.1\n")
    assert [row.centi_degc for row in rows] == [500, 506]


def test_a_time_still_to_come_is_refused():
    now = int(datetime(2026, 4, 13, 10, 0, tzinfo=UTC).timestamp())
    rows, _ = rows_of(
        f"t,°C\n{GOOD}2026-04-13 10:01,4.2\n{GOOD}2026-04-13 10:01,4.2\n", until_s=now
    )
    assert said(rows) == [("2026-04-13 10:00:00", 4.2), 3, ("2026-04-13 10:00:00", 4.2), 5]
    assert "still to come" in rows[1].reason


def test_readings_out_of_order_are_counted():
    _, reader = rows_of("t,°C\n2026-04-13 10:15,4.2\n2026-04-13 10:00,4.3\n")
    assert reader.out_of_order == 1
    assert "1 readings are no later" in reader.notices[0]


def test_noon_and_midnight_on_the_twelve_hour_clock():
    text = "t,°C\n4/13/2026 12:00 AM,4\n4/13/2026 12:30 PM,4\n4/13/2026 11:59 PM,4\n"
    rows, _ = rows_of(text)
    assert [time[11:16] for time, _ in said(rows)] == ["00:00", "12:30", "23:59"]


# When clocks change. Sources: IANA time zone database, as carried by Python's zoneinfo.


def log(*times, day="2026-10-25"):
    return "t,°C\n" + "".join(f"{day} {time},4.2\n" for time in times)


def clocks(rows):
    """The UTC clock of each reading, and the line of each bad row."""
    return [each if isinstance(each, int) else each[0][11:16] for each in said(rows)]


def test_the_doubled_hour_of_autumn_is_told_apart_by_the_jump_of_the_clock():
    text = log("00:00", "00:30", "01:00", "01:30", "01:00", "01:30", "02:00")
    rows, reader = rows_of(text, zone="Europe/London")
    assert clocks(rows) == ["23:00", "23:30", "00:00", "00:30", "01:00", "01:30", "02:00"]
    assert "came twice" in reader.notices[0]
    assert reader.doubts == []
    assert reader.out_of_order == 0


def test_the_doubled_hour_is_told_apart_in_a_log_with_the_newest_first():
    text = log("02:30", "02:00", "01:30", "01:00", "01:30", "01:00", "00:30", "00:00")
    rows, _ = rows_of(text, zone="Europe/London")
    assert clocks(rows) == ["02:30", "02:00", "01:30", "01:00", "00:30", "00:00", "23:30", "23:00"]


def test_hourly_readings_of_the_doubled_hour_repeat_their_time():
    rows, _ = rows_of(log("00:00", "00:59", "01:00", "01:00", "02:00"), zone="Europe/London")
    assert clocks(rows) == ["23:00", "23:59", "00:00", "01:00", "02:00"]


def test_a_doubled_hour_seen_once_is_refused_and_throws_doubt_on_the_zone():
    rows, reader = rows_of(log("00:00", "00:30", "01:00", "01:30", "02:00"), zone="Europe/London")
    assert clocks(rows) == ["23:00", "23:30", 4, 5, "02:00"]
    assert "came twice" in rows[2].reason
    assert "choose an offset" in reader.doubts[0]


def test_a_doubled_hour_at_the_end_of_the_file_is_handed_out():
    rows, _ = rows_of(log("00:00", "00:30", "01:00", "01:00"), zone="Europe/London")
    assert len(rows) == 4
    assert clocks(rows)[2:] == ["00:00", "01:00"]


@pytest.mark.parametrize("times", [("01:00", "01:30", "01:00", "01:30"), ("01:00", "01:00")])
def test_a_doubled_hour_with_nothing_before_it_does_not_show_the_run_of_the_log(times):
    rows, reader = rows_of(log(*times), zone="Europe/London")
    assert all(isinstance(row, BadRow) for row in rows)
    assert reader.doubts


def test_the_hour_that_never_was_is_refused_and_throws_doubt_on_the_zone():
    rows, reader = rows_of(log("00:30", "01:30", "02:30", day="2026-03-29"), zone="Europe/London")
    assert clocks(rows) == ["00:30", 3, "01:30"]
    assert "never was" in rows[1].reason
    assert "choose an offset" in reader.doubts[0]


def test_an_offset_in_the_file_leaves_nothing_to_tell_apart():
    text = "t,°C\n2026-10-25T01:30:00+01:00,4\n2026-10-25T01:30:00+00:00,4\n"
    rows, reader = rows_of(text)
    assert clocks(rows) == ["00:30", "01:30"]
    assert reader.notices == []


def test_a_file_that_never_leaves_the_doubled_hour_is_refused_in_bounded_memory():
    text = log("00:00", "00:30") + "2026-10-25 01:30,4.2\n" * 45_000
    _, reader = rows_of(text, zone="Europe/London")
    assert (reader.good, reader.bad) == (2, 45_000)


# What throws doubt on a whole file


def test_a_clock_from_1_to_12_that_runs_back_throws_doubt_on_the_hours():
    hours = [*range(8, 13), *range(1, 13), *range(1, 8)]
    _, reader = rows_of(log(*[f"{hour:02d}:00" for hour in hours], day="2026-04-13"))
    assert "12-hour clock" in reader.doubts[0]


def test_a_later_date_that_fits_the_other_order_alone_throws_doubt_on_a_chosen_order():
    text = "t,°C\n01/04/2026 10:00,4.2\n02/04/2026 10:00,4.2\n"
    reader = reader_of(text, date_order="mdy")
    shape = reader.shape
    longer = text + "13/04/2026 10:00,4.2\n"
    reader = read(io.BytesIO(longer.encode()), shape)
    rows = list(reader)
    assert isinstance(rows[-1], BadRow)
    assert "another order" in reader.doubts[0]


def test_a_second_header_in_another_unit_throws_doubt_on_what_follows():
    _, reader = rows_of("t,temp (°C)\n" + GOOD * 3 + "t,temp (°F)\n2026-04-13 11:00,39\n")
    assert "another unit" in reader.doubts[0]


def test_a_shape_with_something_left_to_choose_reads_nothing():
    shape = sniff(GOOD.encode()).shape
    with pytest.raises(UnreadableLog, match="still to be chosen"):
        read(io.BytesIO(GOOD.encode()), shape)
