"""The tables of shared/cleaning, and what is said of a row that cannot be trusted."""

import csv
import shutil
from datetime import date

import pytest

from kegsafe.rules.cleaning.guidance import CLEANING, Basis, load_guidance
from kegsafe.rules.cleaning.intervals import intervals, load_intervals
from kegsafe.rules.cleaning.limits import (
    load_no_rinse,
    load_sanitiser_codes,
    load_sanitisers,
    sanitiser_code,
    sanitiser_tables,
)
from kegsafe.rules.cleaning.plans import cautions, load_cautions, load_plans, plans
from kegsafe.rules.cleaning.vocabulary import DrinkKind, Equipment, StepKind
from kegsafe.rules.codes import codes
from kegsafe.rules.tables import BadRuleData
from tests.rules.cleaning.cleaning_facts import FOOD_CODE

LOADERS = {
    "guidance.csv": load_guidance,
    "intervals.csv": load_intervals,
    "sanitisers.csv": load_sanitisers,
    "sanitiser_codes.csv": load_sanitiser_codes,
    "no_rinse.csv": load_no_rinse,
    "cautions.csv": load_cautions,
    "plans.csv": lambda path: load_plans(path.parent),
    "plan_steps.csv": lambda path: load_plans(path.parent),
}


@pytest.fixture
def spoilt(tmp_path):
    """Return a function that copies the tables with one cell changed, and gives that file."""

    def spoil(name, row, column, value):
        folder = tmp_path / "cleaning"
        shutil.copytree(CLEANING, folder)
        path = folder / name
        with path.open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        rows[row][column] = value
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, rows[0])
            writer.writeheader()
            writer.writerows(rows)
        return path

    return spoil


@pytest.mark.parametrize(
    ("name", "column", "value", "expected"),
    [
        ("guidance.csv", "minimum", "two", "a plain number"),
        ("guidance.csv", "maximum", "19999", "a number not below the minimum"),
        ("guidance.csv", "unit", "ppm", "one of: mg/l"),
        ("guidance.csv", "basis", "hearsay", "one of: law, model_code"),
        ("guidance.csv", "rule", "draught.acid_temperature", "no row above has"),
        ("intervals.csv", "every", "0", "a whole number of 1 or more"),
        ("intervals.csv", "unit", "fortnight", "one of: day"),
        ("intervals.csv", "equipment", "barrel", "one or more of: keg"),
        ("intervals.csv", "drinks", "", "one or more of: any"),
        ("sanitisers.csv", "actives", "bleach", "one or more of: chlorine"),
        ("sanitisers.csv", "valid_from", "2023-02-30", "a date written year-month-day"),
        ("sanitiser_codes.csv", "beside", "mars", "one of: , us_fda_2022"),
        ("no_rinse.csv", "active", "bleach", "one of: chlorine"),
        ("cautions.csv", "text", "", "this cell may not be empty"),
        ("plans.csv", "steps", "barrel", "one of: keg"),
        ("plans.csv", "intervals", "keg.nonsense", "rule ids that stand in intervals.csv"),
        ("plans.csv", "drinks", "mead", "one or more of: any"),
        ("plan_steps.csv", "position", "2", "1, the next step of keg"),
        ("plan_steps.csv", "cautions", "mind_the_gap", "keys that stand in cautions.csv"),
        ("plan_steps.csv", "strength", "draught.nonsense", "a rule id that stands in guidance.csv"),
        (
            "plan_steps.csv",
            "strength",
            "draught.soaked_contact",
            "a rule in mg/l; this one is in s",
        ),
        ("plan_steps.csv", "application", "poured", "one or more of: circulated"),
        ("plan_steps.csv", "contact", "draught.soaked_contact", "one rule id for each way"),
    ],
)
def test_a_spoilt_cell_is_named_with_what_belongs_there(spoilt, name, column, value, expected):
    path = spoilt(name, 0, column, value)
    with pytest.raises(BadRuleData) as error:
        LOADERS[name](path)
    assert f'"{column}": found "{value}"' in str(error.value)
    assert expected in str(error.value)


def test_a_strength_with_two_upper_ends_is_refused(spoilt):
    path = spoilt("sanitisers.csv", 0, "at_most_mg_per_l", "60")
    with pytest.raises(BadRuleData, match="an empty cell where at_most_mg_per_l is given"):
        load_sanitisers(path)


def test_a_figure_without_either_end_is_refused(spoilt):
    path = spoilt("guidance.csv", 1, "minimum", "")
    with pytest.raises(BadRuleData, match="a number here or as the minimum"):
        load_guidance(path)


def test_an_interval_without_a_number_says_why(spoilt):
    row = list(intervals()).index("fda.nozzle")
    with pytest.raises(BadRuleData, match='"note"'):
        load_intervals(spoilt("intervals.csv", row, "note", ""))


def test_every_food_code_on_file_says_where_its_sanitiser_limits_stand():
    assert all(sanitiser_code(key).code == key for key in codes())


def test_california_is_judged_beside_the_model_code():
    tables = sanitiser_tables("us_california", date(2026, 4, 14))
    assert [{row.code for row in table} for table in tables] == [{"us_california"}, {FOOD_CODE}]


def test_a_row_counts_from_its_own_day():
    assert sanitiser_tables(FOOD_CODE, date(2022, 12, 31)) == ((),)
    assert len(sanitiser_tables(FOOD_CODE, date(2023, 1, 1))[0]) == 13


def test_practice_without_a_source_says_so_and_nothing_else_does():
    rows = [each.citation for each in intervals().values()]
    rows += [figure.citation for figure in load_guidance(CLEANING / "guidance.csv").values()]
    rows += [step.citation for plan in plans().values() for step in plan.steps]
    for citation in rows:
        says_so = citation.source == "common practice, no source"
        assert says_so is (citation.basis is Basis.COMMON_PRACTICE)


@pytest.mark.parametrize("equipment", sorted(set(Equipment) - {"foam_detector", "gas_line"}))
def test_every_kind_of_equipment_has_a_starter_plan(equipment):
    assert any(plan.equipment == equipment for plan in plans().values())


@pytest.mark.parametrize("drink", [DrinkKind.FRESH, DrinkKind.SWEET, DrinkKind.PLAIN])
@pytest.mark.parametrize("equipment", [Equipment.KEG, Equipment.LINE, Equipment.TAP, Equipment.JUG])
def test_every_kind_of_cocktail_has_its_plan(equipment, drink):
    assert any(plan.suits(equipment, drink) for plan in plans().values())


@pytest.mark.parametrize(
    ("kind", "caution"),
    [
        (StepKind.DEPRESSURISE, "relieve_pressure"),
        (StepKind.LOCK_OUT, "label_the_line"),
        (StepKind.DETERGENT, "eyes_and_hands"),
        (StepKind.SANITISE, "never_mix"),
    ],
)
def test_each_step_that_can_hurt_carries_its_caution(kind, caution):
    steps = [step for plan in plans().values() for step in plan.steps if step.kind is kind]
    assert steps
    assert all(caution in step.cautions for step in steps)


def test_no_caustic_into_a_keg_full_of_co2():
    wash = next(step for step in plans()["keg"].steps if step.kind is StepKind.DETERGENT)
    assert "CO2 uses the caustic up and a closed keg can cave in" in (
        " ".join(cautions()[key].text for key in wash.cautions)
    )


@pytest.mark.parametrize(
    ("rule", "words"),
    [
        ("ohio.mixed_beverage_line", "every 30 days"),
        ("line.fresh", "every day"),
        ("fda.tcs_in_use", "every 4 hours"),
        ("keg.each_use", "after each use"),
        ("keg.parts_plain", "every 3 fills"),
        ("line.idle_3", "after 3 days without a pour"),
        ("fda.ice_bin", "ice bins"),
    ],
)
def test_an_interval_reads_as_a_person_says_it(rule, words):
    assert intervals()[rule].in_words == words
