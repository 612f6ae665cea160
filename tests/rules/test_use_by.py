"""The use-by of a drink in its keg: the earliest of named reasons, and none without evidence."""

from datetime import date, datetime, timedelta
from decimal import Decimal

import pytest

from kegsafe.rules.date_candidates import DATE_MARKING
from kegsafe.rules.facts import Basis, DateKind, Drink, House, Trigger
from kegsafe.rules.findings import Severity
from kegsafe.rules.limits import LocalLimit
from kegsafe.rules.use_by import UseByVerdict, use_by
from tests.rules.drink_facts import (
    ZONE,
    a_drink,
    a_house,
    a_part,
    an_assessment,
    in_england,
    keeps,
    noon,
    opened,
    prepared,
)


def asked(verdict: UseByVerdict) -> str:
    """Return every question the verdict asks, in one text."""
    return " ".join(each.statement for each in verdict.findings if each.severity is Severity.ASK)


def warned(verdict: UseByVerdict) -> str:
    return " ".join(each.statement for each in verdict.findings if each.severity is Severity.WARN)


def melon_highball(**facts: object) -> Drink:
    """Cut-melon juice in a carbonated keg, said to keep two weeks there."""
    juice = prepared("Cut-melon juice", "2026-06-01", category="cut_melon")
    two_weeks = keeps(14, reference="common practice, no source")
    stated = {"made": "2026-06-01", "shelf_lives": (two_weeks,)}
    return a_drink(juice, **{**stated, **facts})


class TestMelon:
    """Fresh, the juice spoils in a day; bars say the carbonated keg gives it two weeks.

    Common practice, no source.
    """

    def test_without_an_assessment_the_codes_date_binds(self):
        verdict = use_by(melon_highball(), a_house())
        assert verdict.use_by == datetime(2026, 6, 7, 23, 59, 59, tzinfo=ZONE)
        assert verdict.earliest.rule == DATE_MARKING

    def test_the_two_weeks_are_shown_among_the_reasons_and_said_not_to_count(self):
        verdict = use_by(melon_highball(), a_house())
        ends = {each.ends_at.date() for each in verdict.candidates}
        assert date(2026, 6, 14) in ends
        assert "keeps 14 days outlasts the code's 7 days and does not count" in warned(verdict)

    def test_it_says_which_evidence_would_be_needed(self):
        verdict = use_by(melon_highball(), a_house())
        assert (
            "it needs a measured pH and water activity or a laboratory study, judged by a "
            "competent person, with name and date."
        ) in warned(verdict)

    def test_with_a_recorded_assessment_it_keeps_two_weeks_and_says_on_whose_word(self):
        drink = melon_highball(assessment=an_assessment(maximum_days=14))
        verdict = use_by(drink, a_house())
        assert verdict.use_by == datetime(2026, 6, 14, 23, 59, 59, tzinfo=ZONE)
        assert "on the word of Dr Ines Falk (food technologist)" in warned(verdict)

    def test_an_assessment_of_fewer_days_than_the_rule_wins_over_it(self):
        drink = melon_highball(assessment=an_assessment(maximum_days=10))
        assert use_by(drink, a_house()).use_by.date() == date(2026, 6, 10)

    @pytest.mark.parametrize(
        ("expires_on", "last"), [(date(2026, 6, 1), 14), (date(2026, 5, 31), 7)]
    )
    def test_an_assessment_that_ran_out_before_the_mixing_counts_for_nothing(
        self, expires_on, last
    ):
        drink = melon_highball(assessment=an_assessment(maximum_days=14, expires_on=expires_on))
        assert use_by(drink, a_house()).use_by.date() == date(2026, 6, last)

    def test_an_assessment_nobody_signed_counts_for_nothing(self):
        drink = melon_highball(assessment=an_assessment(maximum_days=14, competent_person=" "))
        assert use_by(drink, a_house()).use_by.date() == date(2026, 6, 7)

    def test_an_assessment_of_the_juice_alone_lengthens_no_drink(self):
        juice = prepared(
            "Cut-melon juice",
            "2026-06-01",
            category="cut_melon",
            assessment=an_assessment(concludes_not_tcs=True),
        )
        drink = a_drink(juice, made="2026-06-01", shelf_lives=(keeps(14),))
        assert use_by(drink, a_house()).use_by.date() == date(2026, 6, 7)


class TestCannotBeDated:
    """Missing evidence gives no date, and names what is missing."""

    def test_until_the_opening_of_a_bought_part_is_recorded(self):
        cream = a_part(
            "Cream", category="dairy", date_kind=DateKind.USE_BY, date_on=date(2026, 6, 20)
        )
        verdict = use_by(a_drink(cream, made="2026-06-01"), a_house())
        assert verdict.use_by is None
        assert "Cannot be dated until the day Cream (lot 260401-01) was opened" in asked(verdict)

    def test_and_the_earliest_reason_found_is_still_there(self):
        cream = a_part("Cream", category="dairy")
        verdict = use_by(a_drink(cream, made="2026-06-01"), a_house())
        assert verdict.earliest.ends_at.date() == date(2026, 6, 7)

    def test_a_shelf_stable_pack_that_went_into_a_drink_counts_as_opened(self):
        milk = a_part("Coconut milk", category="heated_plant_food", shelf_stable_unopened=True)
        verdict = use_by(a_drink(milk, made="2026-06-01"), a_house())
        assert verdict.use_by is None
        assert "the day Coconut milk (lot 260401-01) was opened" in asked(verdict)

    def test_until_the_day_of_a_preparation_is_recorded(self):
        syrup = a_part("Tea syrup", category="heated_plant_food", is_prepared=True)
        verdict = use_by(a_drink(syrup, made="2026-06-01"), a_house())
        assert verdict.use_by is None
        assert "the day Tea syrup (lot 260401-01) was prepared" in asked(verdict)

    def test_until_the_drink_has_a_shelf_life_where_the_code_counts_no_days(self):
        verdict = use_by(a_drink(made="2026-06-01", measured_ph=Decimal("3.2")), in_england())
        assert verdict.use_by is None
        assert "until the recipe has an in-keg shelf life" in asked(verdict)

    @pytest.mark.parametrize("how", [opened, prepared])
    def test_until_a_part_has_a_date_or_a_rule_where_the_code_counts_no_days(self, how):
        part = how("Cashew milk", "2026-06-01", category="nut_milk")
        drink = a_drink(part, made="2026-06-01", shelf_lives=(keeps(5),))
        verdict = use_by(drink, in_england())
        assert verdict.use_by is None
        assert "Cashew milk (lot 260401-01) has a use-by date or a shelf-life rule" in asked(
            verdict
        )

    def test_until_a_part_exempt_from_the_day_count_has_a_date_of_its_own(self):
        cheese = opened("Cultured cream", "2026-06-01", category="cultured_dairy",
                        date_mark_exempt=True)  # fmt: skip
        verdict = use_by(a_drink(cheese, made="2026-06-01"), a_house())
        assert verdict.use_by is None
        assert "the maker's date or a shelf-life rule" in asked(verdict)


class TestRules:
    """Shelf lives count from their own event, in days or in hours."""

    def test_a_rule_in_hours_ends_to_the_minute(self):
        fresh = keeps(None, Trigger.PREPARED, hours=8)
        juice = prepared("Apple juice", "2026-06-01", category="acid_fruit_juice",
                         shelf_lives=(fresh,))  # fmt: skip
        verdict = use_by(a_drink(juice, made="2026-06-01"), a_house())
        assert verdict.use_by == noon("2026-06-01") + timedelta(hours=8)

    def test_a_rule_in_hours_is_not_stretched_when_the_clocks_go_forward(self):
        late = datetime(2026, 3, 7, 23, 0, tzinfo=ZONE)
        fresh = keeps(None, Trigger.PREPARED, hours=8)
        juice = prepared("Apple juice", "2026-03-07", category="acid_fruit_juice",
                         shelf_lives=(fresh,))  # fmt: skip
        drink = a_drink(
            a_part("Apple juice", category="acid_fruit_juice", is_prepared=True,
                   prepared_at=late, shelf_lives=juice.shelf_lives),
            made="2026-03-08",
        )  # fmt: skip
        ends_at = use_by(drink, a_house()).use_by
        assert f"{ends_at:%Y-%m-%d %H:%M %Z}" == "2026-03-08 08:00 EDT"

    def test_a_rule_that_runs_from_the_keg_counts_from_the_fill_and_not_from_the_making(self):
        syrup = prepared(
            "Tea syrup",
            "2026-06-01",
            category="acid_syrup",
            measured_ph=Decimal("3.1"),
            business_date=date(2026, 6, 1),
            shelf_lives=(keeps(3, Trigger.KEGGED),),
        )
        drink = a_drink(syrup, made="2026-06-02", filled="2026-06-04")
        verdict = use_by(drink, a_house())
        assert verdict.use_by.date() == date(2026, 6, 6)
        assert "was filled on Thu 4 Jun 2026" in verdict.earliest.because

    def test_the_earlier_business_date_is_day_one_of_a_preparation(self):
        tea = a_part(
            "Tea",
            category="heated_plant_food",
            is_prepared=True,
            prepared_at=datetime(2026, 6, 6, 1, 30, tzinfo=ZONE),
            business_date=date(2026, 6, 5),
        )
        assert use_by(a_drink(tea, made="2026-06-06"), a_house()).use_by.date() == date(2026, 6, 11)

    def test_what_goes_into_the_glass_does_not_date_the_keg(self):
        lime = opened("Cream", "2026-05-20", category="dairy", in_glass=True)
        assert use_by(a_drink(lime, made="2026-06-01"), a_house()).use_by.date() == date(2026, 6, 7)

    def test_a_house_rule_without_a_name_is_asked_about(self):
        drink = a_drink(made="2026-06-01", shelf_lives=(keeps(3, approved_by=""),))
        assert "names nobody who answers for it" in asked(use_by(drink, a_house()))

    def test_a_rule_on_the_makers_label_needs_no_name_of_the_house(self):
        label = keeps(3, approved_by="", approved_on=None, basis=Basis.MAKER_LABEL)
        verdict = use_by(a_drink(made="2026-06-01", shelf_lives=(label,)), a_house())
        assert asked(verdict) == ""

    def test_every_losing_reason_is_kept_in_order(self):
        drink = a_drink(
            opened("Cream", "2026-06-02", category="dairy", use_by="2026-06-30"),
            made="2026-06-03",
            shelf_lives=(keeps(5),),
        )
        ends = [each.ends_at.date().day for each in use_by(drink, a_house()).candidates]
        assert ends == [7, 8, 9, 30]


def a_limit(rule: str, days: int, valid_from: date) -> LocalLimit:
    return LocalLimit(rule, Decimal(days), "day", valid_from, "", "", None, "Ana")


@pytest.mark.parametrize(("valid_from", "last"), [(date(2026, 6, 1), 3), (date(2026, 6, 2), 7)])
def test_the_venues_own_day_count_binds_from_its_own_first_day(valid_from, last):
    house: House = a_house(local_limits=(a_limit(DATE_MARKING, 3, valid_from),))
    assert use_by(a_drink(made="2026-06-01"), house).use_by.date() == date(2026, 6, last)


def test_a_venues_day_count_that_begins_later_is_no_day_count_yet_where_the_code_has_none():
    house = in_england(local_limits=(a_limit(DATE_MARKING, 3, date(2026, 6, 2)),))
    assert use_by(a_drink(made="2026-06-01"), house).earliest.rule == "reduced_oxygen.chilled_days"
