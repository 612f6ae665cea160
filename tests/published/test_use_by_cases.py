"""Use-by dates worked from the text of the codes, one test for each example.

FDA Food Code 3-501.17 and 3-501.18 as adopted by Minnesota (Rules 4626.0400) and Wisconsin
(ATCP 75) [read]; its 3-502.12 as adopted by Wisconsin [read]; the FSA factsheet on vacuum and
modified-atmosphere packing, 2008, and guidance of 2020 [read in part, guidance and not law].
The examples are derived from those texts; where a text leaves the count open, the test says
which convention it follows.
"""

from datetime import date
from decimal import Decimal

import pytest

from kegsafe.rules.date_candidates import DATE_MARKING
from kegsafe.rules.facts import DateKind, Drink, House, Trigger
from kegsafe.rules.findings import Outcome, Severity
from kegsafe.rules.limits import LocalLimit
from kegsafe.rules.pour_check import pour_check
from kegsafe.rules.use_by import REDUCED_OXYGEN, REDUCED_OXYGEN_CHILLED, use_by
from tests.rules import pour_facts
from tests.rules.drink_facts import (
    a_drink,
    a_house,
    a_part,
    an_assessment,
    in_england,
    keeps,
    opened,
    prepared,
)


def last_date(drink: Drink, house: House) -> str:
    """Return the date of the use-by; a drink without one fails the test."""
    verdict = use_by(drink, house)
    assert verdict.use_by is not None, [each.statement for each in verdict.findings]
    return verdict.use_by.date().isoformat()


@pytest.mark.parametrize(
    ("makers_use_by", "last"), [("2026-05-06", "2026-05-06"), ("2026-05-30", "2026-05-10")]
)
def test_opened_cream_lasts_seven_days_but_never_past_its_makers_use_by(makers_use_by, last):
    """3-501.17(B): the day of opening is day 1; the mark may not exceed the maker's date."""
    cream = opened("Cream", "2026-05-04", category="dairy", use_by=makers_use_by)
    assert last_date(a_drink(cream, made="2026-05-04"), a_house()) == last


def test_a_mixture_keeps_the_date_of_its_earliest_part():
    """3-501.17(C): tea of 1 July and nut milk of 3 July, mixed on 4 July."""
    drink = a_drink(
        prepared("Tea", "2026-07-01", category="heated_plant_food"),
        prepared("Nut milk", "2026-07-03", category="nut_milk"),
        made="2026-07-04",
    )
    assert last_date(drink, a_house()) == "2026-07-07"


def test_topping_up_with_a_fresh_mix_restarts_nothing():
    """3-501.17(C): first mixed on 1 July, topped up on 5 July."""
    drink = a_drink(
        prepared("Tea mix", "2026-07-01", category="heated_plant_food"),
        prepared("Fresh tea mix", "2026-07-05", category="heated_plant_food"),
        made="2026-07-05",
    )
    assert last_date(drink, a_house()) == "2026-07-07"


def test_only_parts_that_need_control_carry_dates_into_the_mixture():
    """3-501.17(C): vermouth open since December brings no date, cream opened on 10 January does."""
    drink = a_drink(
        opened("Gin", "2025-12-01", category="spirit"),
        opened("Vermouth", "2025-12-01", category="wine", measured_ph=Decimal("3.4")),
        opened("Cream", "2026-01-10", category="dairy"),
        made="2026-01-12",
    )
    assert last_date(drink, a_house()) == "2026-01-16"


def test_bought_buttermilk_is_outside_the_day_count_and_its_own_date_binds():
    """3-501.17(F): cultured dairy packed in an inspected plant."""
    buttermilk = opened(
        "Buttermilk",
        "2026-03-01",
        category="cultured_dairy",
        use_by="2026-03-19",
        date_mark_exempt=True,
    )
    drink = a_drink(
        buttermilk, made="2026-03-02", assessment=an_assessment(concludes_not_tcs=True),
        shelf_lives=(keeps(30),),
    )  # fmt: skip
    verdict = use_by(drink, a_house())
    assert verdict.use_by is not None
    assert verdict.use_by.date() == date(2026, 3, 19)
    assert DATE_MARKING not in {each.rule for each in verdict.candidates}


@pytest.mark.parametrize(
    ("adopted_days", "last"),
    [(None, "2026-03-30"), (Decimal(14), "2026-03-14")],
    ids=["30-day code", "14-day code"],
)
def test_a_plan_on_file_ends_with_the_days_its_code_adopted(adopted_days, last):
    """3-502.12(B)(4): 30 days, 14 in older codes. That packing day is day 1 is a convention."""
    own = (
        (LocalLimit(REDUCED_OXYGEN, adopted_days, "day", date(2025, 1, 1), "", "", None, "Ana"),)
        if adopted_days
        else ()
    )
    plan = an_assessment(reference="HACCP plan 7", maximum_days=45)
    drink = a_drink(made="2026-03-01", assessment=plan)
    assert last_date(drink, a_house(local_limits=own)) == last


def test_a_chilled_keg_without_another_control_ends_on_its_tenth_day():
    """FSA: 10 days at 3 to 8 °C. That packing day is day 1 is a convention."""
    drink = a_drink(
        made="2026-03-01",
        measured_ph=Decimal("5.6"),
        measured_water_activity=Decimal("0.99"),
        shelf_lives=(keeps(21),),
    )
    verdict = use_by(drink, in_england())
    assert last_date(drink, in_england()) == "2026-03-10"
    assert verdict.earliest is not None
    assert verdict.earliest.rule == REDUCED_OXYGEN_CHILLED
    assert "not law" in verdict.earliest.because


def test_an_acid_keg_is_outside_the_ten_days_and_other_rules_still_apply():
    """FSA: pH of 5.0 or less throughout is another control. [memory]"""
    drink = a_drink(
        made="2026-03-01",
        measured_ph=Decimal("4.9"),
        measured_water_activity=Decimal("0.99"),
        shelf_lives=(keeps(21),),
    )
    assert last_date(drink, in_england()) == "2026-03-21"


def test_a_house_rule_of_two_days_ends_lime_juice_where_the_code_counts_none():
    """House rule, common practice, no source: lime juice keeps two days."""
    juice = prepared(
        "Lime juice",
        "2026-05-01",
        category="acid_citrus_juice",
        shelf_lives=(keeps(2, Trigger.PREPARED),),
    )
    assert last_date(a_drink(juice, made="2026-05-01"), a_house()) == "2026-05-02"


def test_a_house_rule_longer_than_the_code_does_not_count_and_says_so():
    """3-501.17(A): ten days by house rule for nut milk made on 1 May."""
    milk = prepared(
        "Nut milk", "2026-05-01", category="nut_milk", shelf_lives=(keeps(10, Trigger.PREPARED),)
    )
    drink = a_drink(milk, made="2026-05-01")
    warnings = [
        each.statement
        for each in use_by(drink, a_house()).findings
        if each.severity is Severity.WARN and each.rule == "date_marking.longer_rule"
    ]
    assert last_date(drink, a_house()) == "2026-05-07"
    assert len(warnings) == 1
    assert "outlasts the code's 7 days and does not count" in warnings[0]


def test_a_best_before_binds_only_where_the_venue_says_so():
    """Reg. (EU) 1169/2011 Art. 24: best before speaks of quality, use by of safety. [memory]"""
    syrup = opened(
        "Syrup",
        "2026-03-01",
        category="spirit",
        date_kind=DateKind.BEST_BEFORE,
        date_on=date(2026, 3, 3),
    )
    drink = a_drink(syrup, made="2026-03-01", measured_ph=Decimal("3.2"), shelf_lives=(keeps(14),))
    assert last_date(drink, in_england()) == "2026-03-14"
    assert last_date(drink, in_england(best_before_binds=True)) == "2026-03-03"


def test_a_drink_that_needs_a_date_and_has_none_is_not_poured():
    """3-501.18: food without its date mark is discarded."""
    never_opened = a_part("Cream", category="dairy")
    undated = pour_facts.drink(parts=(never_opened,), measured_ph=None)
    facts = undated(pour_facts.whole_facts())
    verdict = pour_check(facts, pour_facts.NOW)
    assert verdict.outcome is Outcome.STOP
    assert "date_marking.no_date" in {each.rule for each in verdict.findings}
