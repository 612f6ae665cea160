"""What a logger file shows of itself, and what has to be asked."""

import pytest

from kegsafe.cold_chain.log_file import DateOrder, LogShape, Unit, UnreadableLog, sniff

ROWS = "2026-04-13 13:45,4.2\n2026-04-13 14:00,4.4\n2026-04-13 14:15,4.6\n"


def of(text, encoding="utf-8"):
    return sniff(text.encode(encoding))


def asked(text):
    return {question.field for question in of(text).questions}


def test_a_plain_file_leaves_only_zone_and_unit_to_ask():
    sniffed = of("time,temperature\n" + ROWS)
    assert asked("time,temperature\n" + ROWS) == {"unit", "zone"}
    assert (sniffed.shape.separator, sniffed.shape.first_row) == (",", 2)
    assert sniffed.shape.date_order is DateOrder.YEAR_FIRST
    assert "Readings begin on line 2." in sniffed.understood


@pytest.mark.parametrize(
    ("header", "unit"),
    [
        ("time,Temperature (°C)", Unit.CELSIUS),
        ("time,Temp [F]", Unit.FAHRENHEIT),
        ("time,temp_c", Unit.CELSIUS),
        ("time,Temperature Fahrenheit", Unit.FAHRENHEIT),
        ("time,℃", Unit.CELSIUS),
        ("Serial 1234\nUnit: deg F\ntime,Channel 1", Unit.FAHRENHEIT),
        ("time,Channel C", None),
        ("time,°C or °F", None),
    ],
)
def test_the_unit_comes_from_the_file_or_is_asked(header, unit):
    assert of(f"{header}\n{ROWS}").shape.unit is unit


def test_the_unit_may_stand_beside_each_number():
    assert of("t,x\n2026-04-13 13:45,39.9 °F\n").shape.unit is Unit.FAHRENHEIT


def test_the_size_of_the_numbers_never_says_the_unit():
    assert of("t,temp\n2026-04-13 13:45,38.2\n").shape.unit is None


@pytest.mark.parametrize(
    ("days", "order", "choices"),
    [
        (["13/04/2026"], DateOrder.DAY_FIRST, None),
        (["04/13/2026"], DateOrder.MONTH_FIRST, None),
        (["2026/04/13"], DateOrder.YEAR_FIRST, None),
        (["20260413"], DateOrder.YEAR_FIRST, None),
        (["13-Apr-26"], DateOrder.YEAR_FIRST, None),
        (["04/05/2026"], None, ["dmy", "mdy"]),
        (["05/05/2026"], None, ["dmy", "mdy"]),
        (["04/05/06"], None, ["ymd", "dmy", "mdy"]),
        (["13/04/26"], None, ["ymd", "dmy"]),
        (["13/04/2026", "04/13/2026"], None, ["dmy", "mdy"]),
        (["04/05/2026", "13/05/2026"], DateOrder.DAY_FIRST, None),
    ],
)
def test_the_date_order_is_shown_by_the_file_or_asked(days, order, choices):
    sniffed = of("t,°C\n" + "".join(f"{day} 10:00,4.2\n" for day in days))
    assert sniffed.shape.date_order is order
    assert sniffed.shape.date_order_is_shown == (order is not None)
    asked = [question for question in sniffed.questions if question.field == "date_order"]
    assert [[value for value, _ in each.choices] for each in asked] == (
        [choices] if choices else []
    )


@pytest.mark.parametrize(
    ("text", "separator", "decimal"),
    [
        ("t;°C\n2026-04-13 10:00;4,2\n", ";", ","),
        ("t\t°C\n2026-04-13 10:00\t4,2\n", "\t", ","),
        ("t|°C\n2026-04-13 10:00|4.2\n", "|", "."),
        ('t,°C\n"2026-04-13 10:00","4,2"\n', ",", ","),
        ("t;°C\n2026-04-13 10:00;4\n", ";", "."),
        ("t;°C\n2026-04-13 10:00;4,2\n2026-04-13 10:15;4.2\n", ";", None),
    ],
)
def test_separator_and_decimal_mark_are_seen(text, separator, decimal):
    shape = of(text).shape
    assert (shape.separator, shape.decimal) == (separator, decimal)


def test_day_and_clock_may_stand_in_two_columns():
    assert of("date,time,°C\n2026-04-13,10:00,4.2\n").shape.time_columns == (0, 1)


def test_the_time_may_stand_anywhere_and_counters_are_left_aside():
    text = "no,temp °C,hum %,when\n1,4.2,40,2026-04-13 10:00\n2,4.3,41,2026-04-13 10:15\n"
    shape = of(text).shape
    assert (shape.temperature_column, shape.time_columns) == (1, (3,))


def test_two_sensors_are_a_question():
    text = "t,temp 1 °C,temp 2 °C\n2026-04-13 10:00,4.2,-18.5\n"
    (question,) = [each for each in of(text).questions if each.field == "temperature_column"]
    assert [words for _, words in question.choices] == [
        "column 2, temp 1 °C",
        "column 3, temp 2 °C",
    ]


def test_two_clocks_are_a_question():
    assert "time_columns" in asked("local,utc,°C\n2026-04-13 11:00,2026-04-13 10:00,4.2\n")


@pytest.mark.parametrize(
    ("header", "cell", "zone"),
    [
        ("t", "2026-04-13T10:00:00Z", "UTC"),
        ("t", "2026-04-13T10:00:00+02:00", "UTC"),
        ("time (UTC)", "2026-04-13 10:00", "UTC"),
        ('"Date Time, GMT+01:00"', "2026-04-13 10:00", "+01:00"),
        ("t", "2026-04-13 10:00", None),
    ],
)
def test_the_zone_is_taken_only_where_the_file_names_it(header, cell, zone):
    assert of(f"{header},°C\n{cell},4.2\n").shape.zone == zone


@pytest.mark.parametrize(
    ("encoding", "name"),
    [
        ("utf-8", "utf-8-sig"),
        ("utf-8-sig", "utf-8-sig"),
        ("utf-16", "utf-16"),
        ("utf-16-le", "utf-16-le"),
        ("utf-16-be", "utf-16-be"),
        ("cp1252", "cp1252"),
    ],
)
def test_encodings_are_told_apart(encoding, name):
    sniffed = of("time,Temperature °C\n" + ROWS, encoding)
    assert (sniffed.shape.encoding, sniffed.shape.unit) == (name, Unit.CELSIUS)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "empty"),
        (b" \n\n", "empty"),
        (b"time,temperature\n", "No row with a time and a temperature"),
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00", "no text file"),
        (bytes(range(1, 32)) * 10, "no text file"),
        (b"\xff\xfe\x00\x00t", "UTF-32"),
        (b"hello world\n", 'begins "hello world"'),
        (b"time,temp\n2026-04-13 10:00,4,2\n", "both separates cells and marks decimals"),
        (b"2026-04-13 10:00,4,2\n2026-04-13 10:15,4,3\n", "both separates cells"),
        (b"time,humidity\n2026-04-13 10:00,45.2\n", "No column of temperatures"),
        (b"time,temp\nyesterday,4.2\n", "No row with a time"),
    ],
)
def test_a_file_that_is_no_log_is_refused_in_a_sentence(content, message):
    with pytest.raises(UnreadableLog, match=message):
        sniff(content)


def test_a_shape_goes_to_json_and_back():
    shape = of("time;°C\n13/04/2026 10:00;4,2\n").shape.chosen(zone="Europe/London")
    assert shape.is_whole
    assert LogShape.from_json(shape.as_json()) == shape


@pytest.mark.parametrize(
    "answers",
    [
        {"zone": "Atlantis/Capital"},
        {"zone": "../../etc/passwd"},
        {"temperature_column": 0},
        {"temperature_column": 9},
        {"temperature_column": -1},
        {"time_columns": (0, 1, 2)},
        {"unit": "kelvin"},
        {"date_order": "dym"},
        {"separator": "x"},
        {"no_such_field": 1},
    ],
)
def test_an_answer_that_cannot_be_is_refused_in_a_sentence(answers):
    with pytest.raises(UnreadableLog):
        of("time;°C\n13/04/2026 10:00;4,2\n").shape.chosen(**answers)


def test_a_shown_date_order_overruled_by_a_person_is_no_longer_shown():
    shape = of("time;°C\n13/04/2026 10:00;4,2\n").shape
    assert shape.date_order_is_shown
    assert not shape.chosen(date_order="mdy").date_order_is_shown
