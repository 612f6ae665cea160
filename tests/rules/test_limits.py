"""A venue's own limits: stricter at will, looser only with approval on file."""

from datetime import date
from decimal import Decimal

import pytest

from kegsafe.rules.codes import MissingRule, code
from kegsafe.rules.findings import Severity
from kegsafe.rules.limits import LocalLimit, effective_limit

TODAY = date(2026, 5, 1)
COLD = "cold_holding.maximum"
APPROVED = {
    "authority": "County health department",
    "reference": "letter 12",
    "approved_on": date(2026, 1, 10),
}


def local(value, rule=COLD, unit="degC", valid_from=date(2026, 1, 1), **approval):
    blank = {"authority": "", "reference": "", "approved_on": None}
    return LocalLimit(rule, Decimal(value), unit, valid_from, **{**blank, **approval}, by="Manager")


def governing(code_key, rule, *local_limits, on=TODAY):
    return effective_limit(code(code_key), rule, on, local_limits)


def test_without_a_local_limit_the_code_governs_and_nothing_is_said():
    result = governing("us_fda_2022", COLD)
    assert (result.value, result.local, result.findings) == (Decimal("5.0"), None, ())


def test_a_stricter_local_limit_always_wins():
    result = governing("us_fda_2022", COLD, local("4.0"))
    assert result.value == Decimal("4.0")
    assert result.findings[0].severity is Severity.NOTE
    assert result.findings[0].statement == (
        "The venue's limit of 4 °C applies; the code's is 5 °C."
    )


def test_the_strictest_of_two_authorities_wins():
    result = governing("us_fda_2022", COLD, local("4.0", authority="County"), local("3.0"))
    assert result.value == Decimal("3.0")


def test_a_newer_row_of_the_same_authority_replaces_the_older_one():
    older, newer = local("3.0"), local("4.5", valid_from=date(2026, 4, 1))
    assert governing("us_fda_2022", COLD, newer, older).value == Decimal("4.5")


def test_a_limit_that_has_not_begun_does_not_count_yet():
    result = governing("us_fda_2022", COLD, local("4.0", valid_from=date(2026, 5, 2)))
    assert result.value == Decimal("5.0")


def test_a_looser_limit_without_approval_is_ignored_and_asked_about():
    result = governing("us_fda_2022", COLD, local("7.0"))
    assert result.value == Decimal("5.0")
    assert [finding.severity for finding in result.findings] == [Severity.ASK]
    assert "is looser than the code's 5 °C and is ignored" in result.findings[0].statement


@pytest.mark.parametrize(
    "gap",
    [
        {"authority": ""},
        {"authority": "   "},
        {"reference": ""},
        {"approved_on": None},
        {"approved_on": date(2026, 5, 2)},
    ],
)
def test_an_approval_with_a_gap_or_a_day_to_come_is_no_approval(gap):
    result = governing("us_fda_2022", COLD, local("7.0", **{**APPROVED, **gap}))
    assert result.value == Decimal("5.0")
    assert result.findings[0].severity is Severity.ASK


def test_a_looser_limit_with_approval_counts_and_is_shown_as_a_warning():
    result = governing("us_fda_2022", COLD, local("7.0", **APPROVED))
    assert result.value == Decimal("7.0")
    assert result.findings[0].severity is Severity.WARN
    assert "approved by County health department (letter 12) on 2026-01-10" in (
        result.findings[0].statement
    )


def test_a_stricter_limit_beats_an_approved_looser_one():
    result = governing("us_fda_2022", COLD, local("7.0", **APPROVED), local("4.0"))
    assert result.value == Decimal("4.0")


def test_for_copper_a_larger_ph_is_the_stricter_one():
    stricter = local("6.5", "metals.copper_minimum_ph", "pH")
    looser = local("5.0", "metals.copper_minimum_ph", "pH")
    rule = "metals.copper_minimum_ph"
    assert governing("us_fda_2022", rule, stricter).value == Decimal("6.5")
    assert governing("us_fda_2022", rule, looser).value == Decimal("6.0")


def test_where_the_code_is_silent_the_venues_own_limit_governs_and_is_named():
    result = governing("eu", COLD, local("5.0"))
    assert (result.value, result.verified) == (Decimal("5.0"), "venue")
    assert result.findings[0].statement.startswith(
        "European Union hygiene and food information law fixes no warmest allowed temperature"
    )


def test_where_code_and_venue_are_silent_the_rule_is_missing():
    with pytest.raises(MissingRule, match="Set the venue's own"):
        governing("eu", COLD)


def test_a_limit_in_another_unit_is_ignored_and_asked_about():
    result = governing("us_fda_2022", COLD, local("39", unit="degF"))
    assert result.value == Decimal("5.0")
    assert result.findings[0].severity is Severity.ASK
    assert "this rule is written in degC" in result.findings[0].statement


def test_a_rule_in_words_is_not_bent_by_a_number():
    result = governing(
        "us_fda_2022",
        "date_marking.freeze_counts",
        local("1", "date_marking.freeze_counts", "word"),
    )
    assert result.limit.value == "conservative"
    assert result.local is None


def test_limits_for_other_rules_do_not_matter():
    assert governing("us_fda_2022", COLD, local("3", "date_marking.days", "day")).local is None


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [
        ("5.000", "degC", "5 °C"),
        ("30", "day", "30 days"),
        ("6.0", "pH", "pH 6"),
        ("0.91", "aw", "water activity 0.91"),
        ("10", "mg/l", "10 mg/l"),
        ("39", "degF", "39 degF"),
    ],
)
def test_a_limit_reads_as_a_person_says_it(value, unit, words):
    assert local(value, unit=unit).in_words == words
