"""Codes as data: the row in force on a day, and what a broken file says."""

import shutil
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from kegsafe.rules.codes import MissingRule, code, codes, load_codes, regimes, rules
from kegsafe.rules.tables import BadRuleData
from kegsafe.science.tables import SHARED

TODAY = date(2026, 5, 1)
LIMITS_HEADER = "rule,valid_from,value,unit,source,section,verified,note"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of the codes on file, to be broken."""
    return Path(shutil.copytree(SHARED / "codes", tmp_path / "codes"))


def with_limits(folder: Path, *rows: str, header: str = LIMITS_HEADER) -> Path:
    (folder / "anz" / "limits.csv").write_text("\n".join([header, *rows, ""]), encoding="utf-8")
    return folder


def complaint(folder: Path) -> str:
    with pytest.raises(BadRuleData) as caught:
        load_codes(folder)
    return str(caught.value)


def test_four_codes_are_on_file():
    assert set(codes()) == {"us_fda_2022", "eu", "england", "anz"}


def test_an_unknown_code_is_named_with_those_on_file():
    with pytest.raises(MissingRule, match=r'"mars" is no code on file\. Known: anz, england, eu'):
        code("mars")


def test_every_code_defers_to_somebody_and_names_its_edition():
    assert all(each.deference and each.edition for each in codes().values())


def test_codes_are_read_once():
    assert codes() is codes()


def test_a_limit_cites_document_and_section():
    limit = code("us_fda_2022").limit("cold_holding.maximum", TODAY)
    assert limit.citation.endswith("(ATCP 75 appendix), 3-501.16(A)(2)")


def test_a_limit_in_force_today_was_not_yet_in_force_before_its_first_day():
    us = code("us_fda_2022")
    assert us.has("date_marking.days", date(2023, 1, 1))
    assert not us.has("date_marking.days", date(2022, 12, 31))


def test_a_changed_limit_is_a_new_row_and_yesterday_keeps_its_own(folder):
    with_limits(
        folder,
        "cold_holding.maximum,2020-01-01,5.0,degC,Standard,1,read,",
        "cold_holding.maximum,2026-07-01,4.0,degC,Standard amended,1,read,",
    )
    anz = load_codes(folder)["anz"]
    assert anz.limit("cold_holding.maximum", date(2026, 6, 30)).value == Decimal("5.0")
    assert anz.limit("cold_holding.maximum", date(2026, 7, 1)).value == Decimal("4.0")


def test_rows_may_stand_in_any_order(folder):
    with_limits(
        folder,
        "cold_holding.maximum,2026-07-01,4.0,degC,Standard amended,1,read,",
        "cold_holding.maximum,2020-01-01,5.0,degC,Standard,1,read,",
    )
    anz = load_codes(folder)["anz"]
    assert anz.limit("cold_holding.maximum", date(2027, 1, 1)).value == Decimal("4.0")


def test_a_code_that_fixes_no_number_says_why_and_what_to_do():
    with pytest.raises(MissingRule) as caught:
        code("eu").limit("cold_holding.maximum", TODAY)
    assert "the law names no refrigerator temperature" in str(caught.value)
    assert str(caught.value).endswith("Set the venue's own.")


def test_a_rule_nobody_knows_is_missing_not_a_crash():
    with pytest.raises(MissingRule, match="no rule this program knows"):
        code("eu").limit("keg.colour", TODAY)


def test_limits_lists_only_what_has_a_value():
    listed = {limit.rule for limit in code("eu").limits(TODAY)}
    assert "sulphite.threshold" in listed
    assert "cold_holding.maximum" not in listed


def test_a_code_carries_the_sulphite_limit_of_its_allergen_list():
    england = code("england").limit("sulphite.threshold", TODAY)
    assert england == regimes()["uk"].limit("sulphite.threshold", TODAY)


def test_six_allergen_lists_have_a_sulphite_limit():
    assert set(regimes()) == {"eu", "uk", "us", "canada", "anz", "codex"}
    assert all(each.has("sulphite.threshold", TODAY) for each in regimes().values())


def test_a_rule_in_words_is_not_a_number():
    convention = code("us_fda_2022").limit("date_marking.freeze_counts", TODAY)
    assert convention.value == "conservative"
    with pytest.raises(TypeError, match="is a word"):
        _ = convention.number


def test_every_rule_is_used_by_some_code():
    used = {rule for each in codes().values() for rule in each.rows}
    assert used == set(rules())


GOOD = "cold_holding.maximum,2020-01-01,5.0,degC,Standard,1,read,"


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        (GOOD.replace("2020-01-01", "2020-02-30"), "a date written year-month-day"),
        (GOOD.replace("2020-01-01", "20200101"), "a date written year-month-day"),
        (GOOD.replace("2020-01-01", "01/02/2020"), "a date written year-month-day"),
        (GOOD.replace("5.0", "five"), "a plain number, for example 5.0"),
        (GOOD.replace("5.0", "NaN"), "a plain number"),
        (GOOD.replace("5.0", "5e3"), "a plain number"),
        (GOOD.replace("5.0", "٥"), "a plain number"),
        (GOOD.replace("degC", "degF"), 'found "degF". Expected one of: degC'),
        (GOOD.replace("degC", "parsec"), 'found "parsec". Expected one of: degC'),
        (GOOD.replace("Standard", " "), 'line 2, "source": found " ". Expected a text'),
        (GOOD.replace("read", "trust me"), 'found "trust me". Expected one of: read, read (part)'),
        (GOOD.replace("cold_holding", "warm_holding"), "a rule id that stands in rules.csv"),
        (GOOD.replace("5.0", ""), 'line 2, "note": found "". Expected a text'),
        (GOOD + ",extra", "9 cells. Expected 8"),
        (
            "date_marking.freeze_counts,2020-01-01,texas,word,Standard,1,read,",
            'found "texas". Expected one of: conservative, north_carolina',
        ),
        (
            "sulphite.threshold,2020-01-01,20,mg/l,Standard,1,read,",
            "a rule that its allergen list does not already fix",
        ),
        ('"never closed', "Expected comma-separated cells"),
    ],
)
def test_a_broken_row_names_file_line_and_what_was_expected(folder, row, expected):
    message = complaint(with_limits(folder, row))
    assert message.startswith("anz/limits.csv, line ")
    assert expected in message


def test_the_same_rule_on_the_same_day_twice_is_refused(folder):
    message = complaint(with_limits(folder, GOOD, GOOD.replace("5.0", "4.0")))
    assert message == (
        'anz/limits.csv, line 3, "valid_from": found "2020-01-01". '
        "Expected one row per day for cold_holding.maximum."
    )


@pytest.mark.parametrize(
    ("header", "expected"),
    [
        (LIMITS_HEADER.replace("source,", ""), "missing column: source"),
        (LIMITS_HEADER + ",colour", "unknown column: colour"),
        (LIMITS_HEADER + ",note", "repeated column: note"),
        ("", "missing column: rule, valid_from"),
    ],
)
def test_a_broken_header_names_the_columns(folder, header, expected):
    assert expected in complaint(with_limits(folder, GOOD, header=header))


def test_a_file_with_a_header_and_nothing_else_is_refused(folder):
    assert "anz/limits.csv: no rows." in complaint(with_limits(folder))


def test_a_missing_file_is_named(folder):
    (folder / "anz" / "limits.csv").unlink()
    assert complaint(folder) == "anz/limits.csv: the file is missing."


def test_a_file_that_is_not_utf_8_says_where(folder):
    (folder / "anz" / "limits.csv").write_bytes(LIMITS_HEADER.encode() + b"\n\xff\xfe")
    assert complaint(folder).startswith("anz/limits.csv: byte 56 is not UTF-8.")


def test_a_byte_order_mark_from_a_spreadsheet_is_read_over(folder):
    path = with_limits(folder, GOOD) / "anz" / "limits.csv"
    path.write_text(path.read_text(encoding="utf-8"), encoding="utf-8-sig")
    assert load_codes(folder)["anz"].has("cold_holding.maximum", TODAY)


@pytest.mark.parametrize(
    ("line", "replacement", "expected"),
    [
        ('key = "anz"', 'key = "nz"', '"key": found "nz". Expected one of: anz.'),
        ('key = "anz"', 'key = "anz"\nmotto = "x"', 'unknown key "motto". Expected key, name'),
        ('key = "anz"', "", '"key": expected a text between quotes.'),
        ('key = "anz"', "key = 7", '"key": expected a text between quotes.'),
        ('key = "anz"', "key = ", "Expected TOML."),
        ('allergen_regime = "anz"', 'allergen_regime = "moon"', 'found "moon". Expected one of'),
    ],
)
def test_a_broken_code_file_names_the_key(folder, line, replacement, expected):
    path = folder / "anz" / "code.toml"
    path.write_text(path.read_text("utf-8").replace(line, replacement, 1), encoding="utf-8")
    message = complaint(folder)
    assert message.startswith("anz/code.toml")
    assert expected in message


def test_a_folder_without_codes_is_refused(tmp_path):
    assert "no code. Expected one folder per code." in complaint(tmp_path)


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("degC,smaller", "degC,warmer", 'found "warmer". Expected one of: smaller, larger'),
        ("degC,smaller,,", "degC,smaller,big,", "words where the unit"),
        ("excursion.ceiling", "cold_holding.maximum", "a rule id that no row above has"),
        ("excursion.ceiling", "", "a text; this cell may not be empty"),
    ],
)
def test_a_broken_rule_is_named(folder, old, new, expected):
    path = folder / "rules.csv"
    path.write_text(path.read_text("utf-8").replace(old, new, 1), encoding="utf-8")
    message = complaint(folder)
    assert message.startswith("codes/rules.csv, line ")
    assert expected in message
