"""The numbers of line cleaning guidance, as each source prints them.

Brewers Association, Draught Beer Quality Manual, cleaning summary, two copies [second-hand]:
2 % caustic, 3 % for old lines; 80 to 110 degF in one copy, 80 to 125 degF in the other; pump
15 min at up to 2 gal/min, or stand 20 min; every 14 days; acid every 3 months; rinse until the
pH is tap water's. Intervals by drink: DIN 6650-6 as copied [second-hand]; Ohio Administrative
Code 4301:1-1-28, Rhode Island General Laws 3-7-25 [read]; FDA Food Code 4-602.11 [read].
"""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from kegsafe.rules.cleaning.cycle import CycleResult, judge_cycle
from kegsafe.rules.cleaning.guidance import Basis, guidance
from kegsafe.rules.cleaning.intervals import hours_at, intervals, intervals_of
from kegsafe.rules.cleaning.plans import plans
from kegsafe.rules.cleaning.vocabulary import Application, DrinkKind, Equipment
from tests.rules.cleaning.cleaning_facts import BEGAN, DAY, FOOD_CODE, a_cycle, at, changed, d

US_GAL_L = Decimal("3.78541")
DETERGENT, RINSE, ACID = 3, 4, 5


def degc(fahrenheit):
    return (Decimal(fahrenheit) - 32) * 5 / 9


@pytest.mark.parametrize(
    ("rule", "least", "most"),
    [
        ("draught.caustic_strength", 20_000, 30_000),
        ("draught.caustic_strength_old_lines", 30_000, None),
        ("draught.circulated_contact", 15 * 60, None),
        ("draught.soaked_contact", 20 * 60, 45 * 60),
        ("cleaning.ph_tolerance", None, Decimal("0.5")),
        ("cleaning.rinse_volumes", 10, None),
        ("cleaning.protein_rinse_temperature", None, 40),
        ("county.chlorine_strip", 50, 100),
        ("iodophor.brewing_contact", 60, None),
        ("plant.velocity", Decimal("1.5"), 2),
    ],
)
def test_each_figure_is_the_printed_one(rule, least, most):
    figure = guidance(rule)
    assert (figure.minimum, figure.maximum) == (least, most)


@pytest.mark.parametrize(
    ("rule", "low", "high"),
    [
        ("draught.solution_temperature", 80, 110),
        ("draught.acid_temperature", 80, 110),
        ("draught.solution_temperature_earlier", 80, 125),
    ],
)
def test_temperatures_in_degc_lie_inside_the_printed_degf_by_less_than_a_tenth(rule, low, high):
    figure = guidance(rule)
    assert degc(low) <= figure.minimum < degc(low) + Decimal("0.1")
    assert degc(high) - Decimal("0.1") < figure.maximum <= degc(high)


def test_the_pump_flow_is_two_us_gallons_a_minute():
    assert guidance("draught.pump_flow").maximum == pytest.approx(2 * US_GAL_L, abs=Decimal("0.05"))


@pytest.mark.parametrize(
    ("rule", "days", "basis", "verified"),
    [
        ("draught.caustic", 14, Basis.TRADE_GUIDANCE, "second-hand"),
        ("draught.acid", 90, Basis.TRADE_GUIDANCE, "second-hand"),
        ("draught.tap", 14, Basis.TRADE_GUIDANCE, "second-hand"),
        ("draught.coupler", 14, Basis.TRADE_GUIDANCE, "second-hand"),
        ("draught.coupler_dismantled", 90, Basis.TRADE_GUIDANCE, "second-hand"),
        ("draught.foam_detector", 14, Basis.TRADE_GUIDANCE, "second-hand"),
        ("draught.foam_detector_dismantled", 90, Basis.TRADE_GUIDANCE, "second-hand"),
        ("draught.dismantled_later", 182, Basis.TRADE_GUIDANCE, "memory"),
        ("draught.soft_line_replaced", 365, Basis.TRADE_GUIDANCE, "second-hand"),
        ("uk.line", 7, Basis.TRADE_GUIDANCE, "second-hand"),
        ("australia.line", 14, Basis.TRADE_GUIDANCE, "second-hand"),
        ("australia.glycol_line", 30, Basis.TRADE_GUIDANCE, "read"),
        ("din.juice", 1, Basis.STANDARD, "second-hand"),
        ("din.alcohol_free_beer", 7, Basis.STANDARD, "second-hand"),
        ("din.beer", 7, Basis.STANDARD, "second-hand"),
        ("din.beer_earlier", 14, Basis.STANDARD, "second-hand"),
        ("din.wine", 14, Basis.STANDARD, "second-hand"),
        ("din.soft_drink", 14, Basis.STANDARD, "second-hand"),
        ("din.syrup_spirit", 90, Basis.STANDARD, "second-hand"),
        ("din.water", 180, Basis.STANDARD, "second-hand"),
        ("ohio.beer_line", 14, Basis.LAW, "read"),
        ("ohio.mixed_beverage_line", 30, Basis.LAW, "read"),
        ("rhode_island.line", 28, Basis.LAW, "read"),
        ("pennsylvania.line", 7, Basis.LAW, "second-hand"),
    ],
)
def test_each_interval_is_the_printed_one_and_says_what_it_is(rule, days, basis, verified):
    row = intervals()[rule]
    assert (row.every, row.unit.value) == (days, "day")
    assert (row.citation.basis, row.citation.verified) == (basis, verified)


def test_ohio_is_the_state_that_names_cocktail_lines():
    (law,) = intervals_of("us_ohio", Equipment.LINE, DrinkKind.SWEET)
    assert (law.rule, law.every) == ("ohio.mixed_beverage_line", 30)
    assert intervals_of("us_rhode_island", Equipment.LINE, DrinkKind.SWEET) == ()


@pytest.mark.parametrize(
    ("place_degc", "hours"),
    [
        ("4.9", 24),
        ("5", 24),
        ("5.1", 20),
        ("7.2", 20),
        ("7.3", 16),
        ("10", 16),
        ("10.1", 10),
        ("12.8", 10),
        ("12.9", 4),
        (None, 4),
    ],
)
def test_surfaces_with_a_tcs_drink_are_cleaned_by_the_cold_of_their_place(place_degc, hours):
    """FDA Food Code 4-602.11(C) and (D), as adopted by Wisconsin. [read]"""
    assert hours_at(None if place_degc is None else d(place_degc), FOOD_CODE).every == hours


def result(facts, plan="line.acid"):
    return judge_cycle(plans()[plan], facts, FOOD_CODE, DAY).result


def test_a_cycle_by_the_guidance_counts():
    assert result(a_cycle("line.acid")) is CycleResult.COMPLETE


@pytest.mark.parametrize(
    ("mg_per_l", "expected"),
    [
        (19_900, CycleResult.FAILED),
        (20_000, CycleResult.COMPLETE),
        (20_100, CycleResult.COMPLETE),
        (29_900, CycleResult.COMPLETE),
        (30_000, CycleResult.COMPLETE),
        (30_100, CycleResult.FAILED),
    ],
)
def test_caustic_works_from_two_to_three_per_cent(mg_per_l, expected):
    facts = changed(a_cycle("line.acid"), DETERGENT, strength=at(mg_per_l))
    assert result(facts) is expected


@pytest.mark.parametrize("step", [DETERGENT, ACID])
@pytest.mark.parametrize(
    ("temperature", "expected"),
    [
        ("26.6", CycleResult.FAILED),
        ("26.7", CycleResult.COMPLETE),
        ("26.8", CycleResult.COMPLETE),
        ("43.2", CycleResult.COMPLETE),
        ("43.3", CycleResult.COMPLETE),
        ("43.4", CycleResult.FAILED),
    ],
)
def test_caustic_and_acid_work_inside_their_temperatures(step, temperature, expected):
    facts = changed(a_cycle("line.acid"), step, temperature_degc=d(temperature))
    assert result(facts) is expected


@pytest.mark.parametrize("step", [DETERGENT, ACID])
@pytest.mark.parametrize(
    ("application", "seconds", "expected"),
    [
        (Application.CIRCULATED, 899, CycleResult.FAILED),
        (Application.CIRCULATED, 900, CycleResult.COMPLETE),
        (Application.CIRCULATED, 901, CycleResult.COMPLETE),
        (Application.SOAKED, 1199, CycleResult.FAILED),
        (Application.SOAKED, 1200, CycleResult.COMPLETE),
        (Application.SOAKED, 1201, CycleResult.COMPLETE),
        (Application.SOAKED, 2699, CycleResult.COMPLETE),
        (Application.SOAKED, 2700, CycleResult.COMPLETE),
        (Application.SOAKED, 2701, CycleResult.FAILED),
    ],
)
def test_caustic_and_acid_work_for_their_time(step, application, seconds, expected):
    facts = spread(a_cycle("line.acid"))
    began = next(each.started_at for each in facts.recorded if each.position == step)
    ended = began + timedelta(seconds=seconds)
    assert result(changed(facts, step, application=application, ended_at=ended)) is expected


def spread(facts):
    """The same cycle with an hour from step to step, so that a longer one still fits."""
    return replace(
        facts,
        recorded=tuple(
            replace(
                each,
                started_at=BEGAN + timedelta(hours=each.position),
                ended_at=BEGAN + timedelta(hours=each.position, minutes=25),
            )
            for each in facts.recorded
        ),
    )


@pytest.mark.parametrize(
    ("rinse_ph", "expected"),
    [
        ("6.8", CycleResult.FAILED),
        ("6.9", CycleResult.COMPLETE),
        ("7.4", CycleResult.COMPLETE),
        ("7.8", CycleResult.COMPLETE),
        ("7.9", CycleResult.COMPLETE),
        ("8.0", CycleResult.FAILED),
    ],
)
def test_the_rinse_ends_within_half_a_ph_of_the_tap_waters_own(rinse_ph, expected):
    facts = changed(a_cycle("line.acid"), RINSE, tap_water_ph=at("7.4"), outlet_ph=(at(rinse_ph),))
    assert result(facts) is expected


def test_a_flow_above_the_pump_of_the_guidance_is_remarked_on_and_fails_nothing():
    plan, facts = (
        plans()["line.acid"],
        changed(a_cycle("line.acid"), DETERGENT, flow_l_min=d("7.7")),
    )
    verdict = judge_cycle(plan, facts, FOOD_CODE, DAY)
    assert verdict.result is CycleResult.COMPLETE
    assert any("guidance pumps up to 7.6 l/min" in remark for remark in verdict.remarks)


@pytest.mark.parametrize(("temperature", "is_slow"), [(20, True), (40, False)])
def test_a_flow_that_does_not_scour_is_remarked_on(temperature, is_slow):
    """0.5 US gal/min in 1/2 in line: Re 3,200 at 20 degC, 4,800 at 40; turbulent above 4,000.

    Kinematic viscosities 1.0035e-6 and 0.6581e-6 m2/s, standard tables. [memory, computed]
    """
    facts = changed(
        a_cycle("line.acid", bore_mm=d("12.7")),
        DETERGENT,
        flow_l_min=round(US_GAL_L / 2, 2),
        temperature_degc=d(temperature),
    )
    remarks = judge_cycle(plans()["line.acid"], facts, FOOD_CODE, DAY).remarks
    assert any("too slow to scour" in remark for remark in remarks) is is_slow
