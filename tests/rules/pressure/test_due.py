"""What is due on pressure equipment, from when, and on whose word."""

from datetime import date, timedelta

import pytest

from kegsafe.rules.pressure.checks import checks_of, kinds, points_of
from kegsafe.rules.pressure.due import (
    Basis,
    DueState,
    ItemFacts,
    OwnInterval,
    add_months,
    due,
)
from kegsafe.rules.pressure.regimes import regime_of, regimes

TODAY = date(2026, 3, 31)


def one(kind, check, today=TODAY, *, regime="US", **facts):
    item = ItemFacts(kind, "Item", regime, **facts)
    return next(each for each in due(item, today) if each.check == check)


def owner(months, basis=Basis.OWNER):
    return OwnInterval(months, basis)


def test_a_check_counts_from_the_day_it_was_passed():
    found = one("hose", "look", passed={"look": date(2026, 3, 1)})
    assert (found.due_on, found.state) == (date(2026, 4, 1), DueState.SOON)


@pytest.mark.parametrize(
    ("today", "state"),
    [
        (date(2026, 3, 29), DueState.SOON),
        (date(2026, 3, 30), DueState.OVERDUE),
        (date(2026, 3, 31), DueState.OVERDUE),
    ],
)
def test_it_is_due_on_the_day_itself(today, state):
    assert one("regulator", "yearly", today, passed={"yearly": date(2025, 3, 30)}).state is state


def test_a_calibration_of_thirteen_months_ago_is_overdue_when_the_maker_says_twelve():
    """Worked case 44."""
    own = {"calibration": owner(12, Basis.MAKER)}
    passed = {"calibration": add_months(TODAY, -13)}
    assert one("monitor", "calibration", passed=passed, own=own).state is DueState.OVERDUE


@pytest.mark.parametrize(
    ("basis", "months", "due_on"),
    [
        (Basis.OWNER, 6, date(2026, 7, 15)),
        (Basis.OWNER, 24, date(2027, 1, 15)),
        (Basis.MAKER, 24, date(2028, 1, 15)),
        (Basis.SCHEME, 26, date(2028, 3, 15)),
    ],
)
def test_the_owner_may_shorten_an_interval_and_only_maker_or_scheme_lengthen_it(
    basis, months, due_on
):
    passed, own = {"yearly": date(2026, 1, 15)}, {"yearly": owner(months, basis)}
    assert one("regulator", "yearly", passed=passed, own=own).due_on == due_on


@pytest.mark.parametrize("kind", kinds())
def test_nothing_on_record_is_never_in_date(kind):
    for found in due(ItemFacts(kind, "Item", "US"), TODAY):
        assert found.state in {DueState.NOT_KNOWN, DueState.EACH_FILL}
        assert found.state is DueState.EACH_FILL or "treat as due" in found.because


def test_a_small_keg_has_no_interval_until_the_owner_sets_one():
    passed = {"examination": date(2026, 1, 15)}
    assert one("keg", "examination", passed=passed).state is DueState.NOT_KNOWN
    own = {"examination": owner(24)}
    found = one("keg", "examination", passed=passed, own=own)
    assert found.due_on == date(2028, 1, 15)
    assert "the owner's own figure" in found.because


def test_an_age_counts_from_the_date_mark():
    assert one("hose", "replacement", marked_on=date(2021, 4, 1)).due_on == date(2026, 4, 1)


def test_the_makers_last_day_goes_before_the_age():
    facts = {"marked_on": date(2021, 4, 1), "replace_by": date(2026, 3, 1)}
    assert one("hose", "replacement", **facts).state is DueState.OVERDUE


def test_a_relief_valve_has_no_published_age():
    assert (
        one("relief_valve", "replacement", marked_on=date(2025, 1, 1)).state is DueState.NOT_KNOWN
    )


def test_the_most_urgent_comes_first():
    states = [each.state for each in due(ItemFacts("monitor", "M1", "US"), TODAY)]
    passed = {"function": TODAY, "bump": TODAY - timedelta(days=400), "calibration": TODAY}
    mixed = due(ItemFacts("monitor", "M1", "US", passed=passed), TODAY)
    assert states == [DueState.NOT_KNOWN] * 4
    assert [each.check for each in mixed][:2] == ["bump", "replacement"]


@pytest.mark.parametrize(
    ("start", "months", "end"),
    [
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2024, 2, 29), 48, date(2028, 2, 29)),
        (date(2026, 1, 31), 1, date(2026, 2, 28)),
        (date(2026, 12, 15), 1, date(2027, 1, 15)),
    ],
)
def test_a_month_without_that_day_ends_on_its_last(start, months, end):
    assert add_months(start, months) == end


def test_every_check_has_points_to_look_at():
    for kind in kinds():
        for regime in (*regimes(), ""):
            assert [
                rule for rule in checks_of(kind, regime) if not points_of(kind, rule.check)
            ] == []


def test_the_examination_of_a_dispense_system_is_the_regimes_own():
    assert one("manifold", "system", regime="EU", passed={"system": TODAY}).due_on == date(
        2028, 3, 31
    )
    assert one("manifold", "system", regime="UK", passed={"system": TODAY}).state is (
        DueState.NOT_KNOWN
    )
    assert "system" not in [rule.check for rule in checks_of("manifold", "US")]


def test_each_food_code_leads_to_a_regime():
    found = {code: regime_of(code).key for code in ("us_fda_2022", "eu", "england", "anz")}
    assert found == {"us_fda_2022": "US", "eu": "EU", "england": "UK", "anz": "Australia"}
    assert regime_of("unheard of") is None
