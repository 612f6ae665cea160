"""Whatever is sent, the only error is the one with a sentence for the person who sent it."""

import io
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from kegsafe.cold_chain.log_file import BadRow, LogReading, UnreadableLog, read, sniff
from kegsafe.cold_chain.log_file.temperatures import COLDEST_CENTI_DEGC, WARMEST_CENTI_DEGC

YEAR_2000_S = 946_684_800 - 86_400
ANSWERS = {
    "unit": "degC",
    "zone": "Europe/London",
    "date_order": "mdy",
    "decimal": ".",
}
ROW = b"2026-04-13 10:00,4.2\n"
HAND_MADE = {
    "empty": b"",
    "one newline": b"\n",
    "only a byte order mark": b"\xef\xbb\xbf",
    "only a 16-bit mark": b"\xff\xfe",
    "odd number of 16-bit bytes": b"\xff\xfet\x00,",
    "only a header": b"time,temperature\n",
    "a picture": b"\x89PNG\r\n\x1a\n" + bytes(range(256)),
    "a zip": b"PK\x03\x04\x14\x00\x00\x00" + bytes(200),
    "zeros": bytes(5000),
    "high bytes": b"\xff" * 5000,
    "a line of ten megabytes": b"x" * 10_000_000,
    "a row of ten megabytes": ROW + b"2026-04-13 10:00," + b"4" * 10_000_000,
    "ten million separators": b"," * 10_000_000,
    "nothing but quotes": b'"' * 100_000,
    "an open quote on the first row": b'"2026-04-13 10:00,4.2\n' + ROW * 20,
    "quotes inside": b't,"a""b"\n' + ROW,
    "spaces for separators": b"2026-04-13 10:00 4.2\n" * 5,
    "colons for separators": b"2026-04-13:10:00:4.2\n" * 5,
    "decimal comma among commas": b"t,temp\n2026-04-13 10:00,4,2\n",
    "columns swapped half way": ROW * 5 + b"4.2,2026-04-13 10:15\n" * 5,
    "units mixed": b"t,x\n2026-04-13 10:00,4.2 C\n2026-04-13 10:15,39.5 F\n",
    "separators mixed": ROW * 3 + b"2026-04-13 10:15;4.2\n" * 3,
    "date orders mixed": b"13/04/2026 10:00,4\n04/13/2026 10:00,4\n",
    "the year 1900": b"t,temp\n1900-01-01 00:00,4.2\n",
    "the year 0000": b"t,temp\n0000-00-00 00:00,4.2\n" + ROW,
    "the year 9999": b"t,temp\n9999-12-31 23:59,4.2\n",
    "31 February": b"t,temp\n2026-02-31 10:00,4.2\n",
    "summer time doubled": b"".join(
        b"2026-10-25 %02d:%02d,4.2\n" % (hour, minute)
        for hour in (0, 1, 1, 2)
        for minute in (0, 15, 30, 45)
    ),
    "summer time doubled and scrambled": b"".join(
        b"2026-10-25 %02d:%02d,4.2\n" % (hour, minute)
        for minute in (0, 15, 30, 45)
        for hour in (1, 2, 1, 0)
    ),
    "an hour that never was": b"2026-03-29 01:30,4.2\n" * 3,
    "exponents": b"t,temp\n2026-04-13 10:00,9e9999\n" + ROW,
    "infinite": b"t,temp\n2026-04-13 10:00,inf\n2026-04-13 10:00,-inf\n" + ROW,
    "a very long number": b"t,temp\n2026-04-13 10:00," + b"9" * 5000 + b"\n" + ROW,
    "digits of other scripts": "t,temp\n٢٠٢٦-٠٤-١٣ ١٠:٠٠,٤\n".encode() + ROW,
    "an offset of 99 hours": b"t,temp\n2026-04-13T10:00:00+99:00,4.2\n" + ROW,
    "a formula": b't,temp\n2026-04-13 10:00,"=1+1"\n' + ROW,
    "a web page": b"<html><body>404, not found; 12:30</body></html>",
    "json": b'[{"time": "2026-04-13T10:00:00Z", "temperature": 4.2}]',
    "old line ends": ROW.replace(b"\n", b"\r") * 5,
    "mixed line ends": ROW + ROW.replace(b"\n", b"\r\n") + ROW.replace(b"\n", b"\r"),
    "vertical tabs": ROW.replace(b"\n", b"\x0b\n") * 5,
    "a thousand columns": b"t" + b",x" * 1000 + b"\n2026-04-13 10:00" + b",4.2" * 1000 + b"\n",
    "windows end of file": ROW * 5 + b"\x1a",
    "half a letter at the end": ROW * 5 + b"\xc3",
}


def outcome(content):
    """Read a file as far as it can be: its rows and its doubts, or None where it is refused."""
    try:
        sniffed = sniff(content)
        answers = {
            question.field: (
                question.choices[-1][0]
                if question.field in {"time_columns", "temperature_column"}
                else ANSWERS[question.field]
            )
            for question in sniffed.questions
        }
        reader = read(io.BytesIO(content), sniffed.shape.chosen(**answers))
        rows = list(reader)
    except UnreadableLog:
        return None
    return rows, reader


def check(content):
    """Whatever comes out is a reading a bar could have, or a bad row with a reason."""
    found = outcome(content)
    if found is None:
        return
    rows, reader = found
    assert reader.good + reader.bad == len(rows)
    for row in rows:
        if isinstance(row, LogReading):
            assert COLDEST_CENTI_DEGC <= row.centi_degc <= WARMEST_CENTI_DEGC
            assert row.at_s >= YEAR_2000_S
        else:
            assert isinstance(row, BadRow)
            assert row.reason
            assert row.line >= 1


@pytest.mark.parametrize("name", HAND_MADE)
def test_a_file_made_to_break_the_reader_does_not(name):
    check(HAND_MADE[name])


@pytest.mark.parametrize(
    ("name", "good"),
    [
        ("columns swapped half way", None),
        ("units mixed", None),
        ("separators mixed", 3),
        ("old line ends", 5),
        ("mixed line ends", 3),
        ("windows end of file", 5),
        ("summer time doubled", 16),
        ("an hour that never was", 0),
        ("decimal comma among commas", None),
        ("the year 1900", 0),
    ],
)
def test_of_a_strange_file_only_the_sound_rows_come_in(name, good):
    found = outcome(HAND_MADE[name])
    if good is None:
        assert found is None or all(
            "°F" in row.reason for row in found[0] if isinstance(row, BadRow)
        )
    else:
        assert found is not None
        assert found[1].good == good


def test_rows_in_a_second_unit_are_refused_one_by_one():
    content = b"t,x\n" + b"2026-04-13 10:00,4.2 C\n" * 5 + b"2026-04-13 10:15,39.5 F\n"
    shape = sniff(content).shape.chosen(unit="degC", zone="UTC")
    rows = list(read(io.BytesIO(content), shape))
    assert [type(row) for row in rows] == [LogReading] * 5 + [BadRow]


@given(st.binary(max_size=2000))
@example(b"\xfe\xff\x00")
def test_any_bytes_are_read_or_refused(content):
    check(content)


CELLS = st.one_of(
    st.sampled_from(
        [
            "2026-04-13 10:00",
            "13/04/2026",
            "10:00",
            "1:00 PM",
            "2026-10-25 01:30",
            "4.2",
            "4,2",
            "-127",
            "85.0",
            "",
            "°C",
            "temp",
            "2026-04-13T10:00:00Z",
            '"',
            "39 F",
            "\x00",
            "999",
        ]
    ),
    st.text(max_size=8),
)
LINES = st.builds(
    lambda cells, mark: mark.join(cells),
    st.lists(CELLS, max_size=5),
    st.sampled_from([",", ";", "\t", "|", " "]),
)


@given(
    st.lists(LINES, max_size=30),
    st.sampled_from(["\n", "\r\n", "\r"]),
    st.sampled_from(["utf-8", "utf-16", "utf-8-sig", "utf-16-be"]),
)
def test_any_arrangement_of_likely_cells_is_read_or_refused(lines, end, encoding):
    check(end.join(lines).encode(encoding, errors="ignore"))


@given(
    st.lists(
        st.tuples(st.integers(1_000_000_000, 2_000_000_000), st.integers(-6000, 6000)),
        min_size=1,
        max_size=40,
    ),
    st.sampled_from([",", ";", "\t"]),
)
def test_what_is_written_plainly_comes_back_exactly(readings, separator):
    lines = [f"time (UTC){separator}temperature (°C)"] + [
        f"{datetime.fromtimestamp(at_s, UTC):%Y-%m-%d %H:%M:%S}{separator}{centi / 100:.2f}"
        for at_s, centi in readings
    ]
    found = outcome("\n".join(lines).encode())
    assert found is not None
    assert [(row.at_s, row.centi_degc) for row in found[0]] == readings


@settings(max_examples=15)
@given(
    st.integers(5, 59),
    st.sampled_from(["Europe/London", "America/New_York", "Australia/Lord_Howe"]),
    st.booleans(),
)
def test_a_year_of_local_times_comes_back_exactly_or_not_at_all(minutes, zone, is_newest_first):
    start_s = 1_767_225_600 + 12 * 3600  # noon of 1 January 2026, UTC
    instants = [start_s + k * minutes * 60 for k in range(365 * 24 * 60 // minutes)]
    instants = [each for each in instants if _is_near_a_change(each, ZoneInfo(zone))]
    if is_newest_first:
        instants.reverse()
    lines = ["time,°C"] + [
        f"{datetime.fromtimestamp(each, ZoneInfo(zone)):%Y-%m-%d %H:%M:%S},4.2" for each in instants
    ]
    content = "\n".join(lines).encode()
    rows = list(read(io.BytesIO(content), sniff(content).shape.chosen(zone=zone)))
    written = dict(enumerate(instants, 2))
    for row in rows:
        if isinstance(row, LogReading):
            assert row.at_s == written[row.line]
    if 60 % minutes == 0 and zone != "Australia/Lord_Howe":
        assert len(rows) == sum(isinstance(row, LogReading) for row in rows)


def _is_near_a_change(at_s, zone):
    offsets = {
        datetime.fromtimestamp(at_s + hours * 3600, zone).utcoffset() for hours in (-6, 0, 6)
    }
    return len(offsets) > 1
