"""When a cylinder's stamp runs out.

49 CFR 180.209, Table 1: 5 years for 3A, 3AA and 3AL in CO2 service [read]; PHMSA interpretation
09-0236: a star counts for named gases only [read]. ADR 4.1.4.1 P200: at most 10 years in metal,
5 in composite [10-year ceiling read, row UN 1013 from memory]. UK: 10 years, typical, from a trade
check list [second-hand]. The day counts from the first of the stamped month: house rule.
"""

from datetime import date

import pytest

from kegsafe.rules.pressure.cylinders import cylinder_rule, cylinder_types, rules
from kegsafe.rules.pressure.due import DueState, ItemFacts, due, may_be_refilled


def requalification(today, *, rule, stamped=None, regime="US", **facts):
    item = ItemFacts("cylinder", "C1", regime, cylinder_rule=rule, stamped_on=stamped, **facts)
    return next(each for each in due(item, today) if each.check == "requalification")


@pytest.mark.parametrize(
    ("rule", "regime", "stamped", "due_on"),
    [
        pytest.param("us.3a_3aa", "US", date(2021, 6, 1), date(2026, 6, 1), id="worked case 11"),
        pytest.param("us.3al", "US", date(2020, 11, 1), date(2025, 11, 1), id="worked case 12"),
        pytest.param("eu.metal", "EU", date(2018, 3, 1), date(2028, 3, 1), id="worked case 13"),
        ("us.3ax_3aax", "US", date(2020, 1, 1), date(2025, 1, 1)),
        ("us.foreign", "US", date(2020, 12, 1), date(2025, 12, 1)),
        ("us.un_iso", "US", date(2020, 2, 1), date(2030, 2, 1)),
        ("eu.composite", "EU", date(2020, 2, 1), date(2025, 2, 1)),
        ("uk.metal", "UK", date(2016, 9, 1), date(2026, 9, 1)),
        ("uk.mixed", "UK", date(2020, 9, 1), date(2025, 9, 1)),
        ("au.as2030", "Australia", date(2021, 1, 1), date(2026, 1, 1)),
    ],
)
def test_a_stamp_lasts_as_long_as_its_table_says(rule, regime, stamped, due_on):
    found = requalification(date(2026, 1, 15), rule=rule, regime=regime, stamped=stamped)
    assert found.due_on == due_on


@pytest.mark.parametrize(
    ("today", "state"),
    [
        (date(2026, 5, 1), DueState.LATER),
        (date(2026, 5, 2), DueState.SOON),
        (date(2026, 5, 31), DueState.SOON),
        (date(2026, 6, 1), DueState.OVERDUE),
        (date(2026, 6, 2), DueState.OVERDUE),
    ],
)
def test_a_cylinder_is_due_on_the_first_of_the_month_and_not_a_day_later(today, state):
    found = requalification(today, rule="us.3a_3aa", stamped=date(2021, 6, 1))
    assert found.state is state


def test_a_star_does_not_lengthen_the_date_of_co2():
    found = requalification(
        date(2026, 1, 15), rule="us.3a_3aa", stamped=date(2021, 6, 1), has_star=True
    )
    assert found.due_on == date(2026, 6, 1)
    assert "Ask the supplier" in found.because


def test_a_stamp_with_a_day_in_it_counts_from_the_first_of_the_month():
    found = requalification(date(2026, 1, 1), rule="us.3al", stamped=date(2021, 6, 30))
    assert found.due_on == date(2026, 6, 1)


def test_the_owners_earlier_day_goes_before_the_stamp_and_a_later_one_does_not():
    stamped = {"rule": "us.3al", "stamped": date(2021, 6, 1)}
    earlier = requalification(date(2026, 1, 1), **stamped, requalify_by=date(2026, 2, 1))
    later = requalification(date(2026, 1, 1), **stamped, requalify_by=date(2031, 6, 1))
    assert (earlier.due_on, later.due_on) == (date(2026, 2, 1), date(2026, 6, 1))


def test_an_out_of_date_cylinder_may_be_emptied_and_not_filled():
    """Worked case 12."""
    item = ItemFacts("cylinder", "C1", "US", "us.3al", stamped_on=date(2020, 11, 1))
    said = may_be_refilled(item, date(2026, 1, 15))
    assert "may be emptied or returned, not filled" in said
    assert "Overdue since" in said
    assert may_be_refilled(item, date(2025, 10, 31)) is None


@pytest.mark.parametrize(
    "facts",
    [
        {"rule": ""},
        {"rule": "any.unreadable", "stamped": date(2025, 1, 1)},
        {"rule": "us.3al"},
        {"rule": "us.permit", "stamped": date(2025, 1, 1)},
    ],
    ids=["nothing read", "said to be unreadable", "no stamp", "permit without its date"],
)
def test_what_nobody_could_read_is_not_known_and_treated_as_due(facts):
    found = requalification(date(2026, 1, 15), **facts)
    assert (found.state, found.due_on) == (DueState.NOT_KNOWN, None)
    assert found.because.endswith("Not known: treat as due.")


def test_a_permit_counts_by_the_day_that_its_owner_gave():
    found = requalification(date(2026, 1, 15), rule="us.permit", requalify_by=date(2027, 3, 1))
    assert (found.state, found.due_on) == (DueState.LATER, date(2027, 3, 1))


@pytest.mark.parametrize("rule", ["us.3e", "us.4l", "eu.capsule"])
def test_where_no_test_is_asked_none_is_due(rule):
    assert requalification(date(2026, 1, 15), rule=rule).state is DueState.NOT_ASKED


@pytest.mark.parametrize("rule", ["us.extinguisher", "us.3a_3aa_star", "us.3a_3aa_ultrasonic"])
def test_rows_that_do_not_count_for_drink_gas_cannot_be_chosen(rule):
    assert rule in rules()
    assert rule not in [each.rule for each in cylinder_types("US")]


def test_each_answer_names_regulation_and_section():
    found = requalification(date(2026, 1, 15), rule="us.3al", stamped=date(2021, 6, 1))
    assert found.source == "49 CFR 180.209, Table 1 to (a), note on (m)"


def test_a_row_counts_from_its_own_first_day():
    with pytest.raises(KeyError, match=r"no rule us\.3al"):
        cylinder_rule("us.3al", date(1999, 12, 31))
