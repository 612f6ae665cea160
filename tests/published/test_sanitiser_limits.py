"""Each limit of a sanitiser at the limit, just below and just above, by its section.

Source of the grid and of hot water: FDA Food Code 4-501.111 to 4-501.114 and 4-703.11, as the
rules of Wisconsin, Washington, Maine and Utah print it [read]; California Health and Safety Code
114099.6 [read]. Of the no-rinse maxima: 40 CFR 180.940 and 21 CFR 178.1010(c) [memory], a label
letter of the US EPA of 4 October 2007 [second-hand], 65 FR 75168 and 75174 [read].
"""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from kegsafe.rules.cleaning.guidance import CLEANING
from kegsafe.rules.cleaning.limits import Active, Use, load_no_rinse, load_sanitisers
from kegsafe.rules.cleaning.sanitising import sanitiser_findings
from kegsafe.rules.findings import Severity
from tests.rules.cleaning.cleaning_facts import a_sanitiser, a_solution, at, band, d

ON = date(2026, 4, 14)
FOOD_CODE, CALIFORNIA = "us_fda_2022", "us_california"
PASSES = "passes"

# rule, strength, pH, lowest temperature, contact time, section
CHLORINE = [
    ("fda.chlorine_25_ph10", 25, 10, 49, 10, "4-501.114(A); contact 4-703.11(C)(1)"),
    ("fda.chlorine_25_ph8", 25, 8, 49, 10, "4-501.114(A); contact 4-703.11(C)(1)"),
    ("fda.chlorine_50_ph10", 50, 10, 38, 7, "4-501.114(A); contact 4-703.11(C)(2)"),
    ("fda.chlorine_50_ph8", 50, 8, 24, 7, "4-501.114(A); contact 4-703.11(C)(2)"),
    ("fda.chlorine_100_ph10", 100, 10, 13, 10, "4-501.114(A); contact 4-703.11(C)(1)"),
    ("fda.chlorine_100_ph8", 100, 8, 13, 10, "4-501.114(A); contact 4-703.11(C)(1)"),
]
HOT_WATER = [
    ("fda.hot_water_immersion", Use.IMMERSION, 77, None, 30, "4-501.111; contact 4-703.11(A)"),
    ("fda.hot_water_stationary_rack", Use.MACHINE_STATIONARY_RACK, 74, 90, None, "4-501.112(A)(1)"),
    ("fda.hot_water_machine", Use.MACHINE_OTHER, 82, 90, None, "4-501.112(A)(2)"),
    ("fda.hot_water_surface", Use.SURFACE_INDICATOR, 71, None, None, "4-703.11(B)"),
]
OTHERS = [
    ("fda.iodine", "4-501.114(B); contact 4-703.11(C)(3)"),
    ("fda.quat", "4-501.114(C); 7-204.11; contact 4-703.11(C)(3)"),
    ("fda.other", "4-501.114(E); contact 4-703.11(C)(3)"),
    ("california.chlorine", "114099.6(b)(1)"),
    ("california.iodine", "114099.6(b)(2)"),
    ("california.quat", "114099.6(b)(3)"),
    ("california.hot_water", "114099.6"),
]
NO_RINSE = [
    (Active.CHLORINE, 200, "180.940(a); 178.1010(c)"),
    (Active.IODINE, 25, "180.940(a); 178.1010(c)"),
    (Active.QUAT, 200, "180.940"),
    (Active.QUAT_BLEND, 400, "180.940(a)"),
    (Active.PEROXYACETIC_ACID, 500, "summary of the rule"),
    (Active.HYDROGEN_PEROXIDE, 1100, "summary of the rule"),
]
grid = pytest.mark.parametrize(
    ("rule", "strength", "ph", "degc", "contact", "section"), CHLORINE, ids=lambda value: str(value)
)


def verdict(solution, code=FOOD_CODE):
    """The first rule that stands against the solution, with its section; or 'passes'."""
    against = [
        finding
        for finding in sanitiser_findings(solution, code, ON)
        if finding.severity in (Severity.STOP, Severity.ASK)
    ]
    return against[0].rule if against else PASSES


def section_of(solution, rule, code=FOOD_CODE):
    """The sources that the findings of one rule name."""
    return [each.source for each in sanitiser_findings(solution, code, ON) if each.rule == rule]


def chlorine(strength, ph, degc, contact=10):
    return a_solution(
        strength=at(strength), ph=at(ph), temperature_degc=d(degc), contact_s=d(contact)
    )


def test_every_row_of_the_tables_is_tested_here():
    tested = {row[0] for row in (*CHLORINE, *HOT_WATER, *OTHERS)}
    assert tested == {row.rule for row in load_sanitisers(CLEANING / "sanitisers.csv")}


@pytest.mark.parametrize("rows", [CHLORINE, HOT_WATER, OTHERS], ids=["grid", "water", "others"])
def test_every_row_names_its_section(rows):
    on_file = {row.rule: row.section for row in load_sanitisers(CLEANING / "sanitisers.csv")}
    assert {row[0]: row[-1] for row in rows} == {row[0]: on_file[row[0]] for row in rows}


@grid
def test_chlorine_at_every_limit_of_its_row_passes(rule, strength, ph, degc, contact, section):
    assert verdict(chlorine(strength, ph, degc, contact)) == PASSES


@grid
def test_a_tenth_of_a_degree_too_cold_fails_by_its_section(
    rule, strength, ph, degc, contact, section
):
    cold = chlorine(strength, ph, d(degc) - d("0.1"), contact)
    assert verdict(cold) == "cleaning.too_cold"
    assert section in section_of(cold, "cleaning.too_cold")[0]
    assert verdict(chlorine(strength, ph, d(degc) + d("0.1"), contact)) == PASSES


@grid
def test_a_second_too_short_fails_by_its_section(rule, strength, ph, degc, contact, section):
    hurried = chlorine(strength, ph, degc, contact - 1)
    assert verdict(hurried) == "cleaning.contact_too_short"
    assert section in section_of(hurried, "cleaning.contact_too_short")[0]
    assert verdict(chlorine(strength, ph, degc, contact + 1)) == PASSES


def test_chlorine_below_25_is_too_weak_however_hot_it_is():
    weak = chlorine("24.9", 8, 60)
    assert verdict(weak) == "cleaning.too_weak"
    assert "4-501.114(A)" in section_of(weak, "cleaning.too_weak")[0]
    assert verdict(chlorine("25.1", 8, 49)) == PASSES


@pytest.mark.parametrize(("strength", "degc"), [("49.9", 49), ("49.5", 49), (50, 38), ("50.1", 38)])
def test_between_49_and_50_the_weaker_row_counts(strength, degc):
    assert verdict(chlorine(strength, 10, degc)) == PASSES
    assert verdict(chlorine(strength, 10, d(degc) - d("0.1"))) == "cleaning.too_cold"


@pytest.mark.parametrize(
    ("strength", "degc"), [("99.9", 24), ("99.5", 24), (100, 13), ("100.1", 13)]
)
def test_between_99_and_100_the_weaker_row_counts(strength, degc):
    assert verdict(chlorine(strength, 8, degc)) == PASSES
    assert verdict(chlorine(strength, 8, d(degc) - d("0.1"))) == "cleaning.too_cold"


@pytest.mark.parametrize(
    ("ph", "outcome"), [("7.9", PASSES), (8, PASSES), ("8.1", "cleaning.too_cold")]
)
def test_the_cool_column_of_the_middle_row_ends_at_ph_8(ph, outcome):
    assert verdict(chlorine(75, ph, 24)) == outcome


@pytest.mark.parametrize("strength", [25, 50, 100])
@pytest.mark.parametrize(
    ("ph", "outcome"), [("9.9", PASSES), (10, PASSES), ("10.1", "cleaning.ph_too_high")]
)
def test_above_ph_10_no_row_of_chlorine_counts(strength, ph, outcome):
    solution = chlorine(strength, ph, 60)
    assert verdict(solution) == outcome
    assert all("4-501.114(A)" in each for each in section_of(solution, outcome))


def test_seven_seconds_count_only_in_the_middle_row_and_are_remarked_on():
    findings = tuple(sanitiser_findings(chlorine(75, 7, 38, 7), FOOD_CODE, ON))
    assert "cleaning.short_contact" in {each.rule for each in findings}
    assert verdict(chlorine(25, 7, 60, 7)) == "cleaning.contact_too_short"
    assert verdict(chlorine(150, 7, 60, 7)) == "cleaning.contact_too_short"


@pytest.mark.parametrize(
    ("measured", "outcome"),
    [
        ({"strength": at("12.4")}, "cleaning.too_weak"),
        ({"strength": at("12.5")}, PASSES),
        ({"strength": at("12.6")}, PASSES),
        ({"strength": at("24.9")}, PASSES),
        ({"strength": at(25)}, PASSES),
        ({"strength": at("25.1")}, "cleaning.too_strong"),
        ({"temperature_degc": d("19.9")}, "cleaning.too_cold"),
        ({"temperature_degc": d(20)}, PASSES),
        ({"temperature_degc": d("20.1")}, PASSES),
        ({"ph": at("4.9")}, PASSES),
        ({"ph": at(5)}, PASSES),
        ({"ph": at("5.1")}, "cleaning.ph_too_high"),
        ({"contact_s": d(29)}, "cleaning.contact_too_short"),
        ({"contact_s": d(30)}, PASSES),
        ({"contact_s": d(31)}, PASSES),
    ],
    ids=str,
)
def test_iodine_at_its_limits(measured, outcome):
    solution = a_solution(
        Active.IODINE, strength=at(20), ph=at("4.5"), temperature_degc=d(24), contact_s=d(40)
    )
    solution = replace(solution, **measured)
    assert verdict(solution) == outcome
    assert all("4-501.114(B)" in each for each in section_of(solution, outcome)[:1])


def test_iodine_at_a_higher_ph_counts_where_the_label_says_so():
    """4-501.114(B): 'or at a pH no higher than the level for which the maker specifies'."""
    label = a_sanitiser(Active.IODINE, label_ph_at_most=d(6))
    measured = {"strength": at(20), "temperature_degc": d(24), "chemical": label}
    assert verdict(a_solution(Active.IODINE, **measured, ph=at(6))) == PASSES
    assert verdict(a_solution(Active.IODINE, **measured, ph=at("6.1"))) == "cleaning.ph_too_high"


def test_no_label_raises_the_ph_of_chlorine():
    label = a_sanitiser(label_ph_at_most=d(12))
    assert verdict(a_solution(chemical=label, ph=at(11))) == "cleaning.ph_too_high"


@pytest.mark.parametrize("active", [Active.QUAT, Active.QUAT_BLEND])
@pytest.mark.parametrize(
    ("measured", "outcome"),
    [
        ({"temperature_degc": d("23.9")}, "cleaning.too_cold"),
        ({"temperature_degc": d(24)}, PASSES),
        ({"temperature_degc": d("24.1")}, PASSES),
        ({"hardness_mg_per_l": d(499)}, PASSES),
        ({"hardness_mg_per_l": d(500)}, PASSES),
        ({"hardness_mg_per_l": d(501)}, "cleaning.water_too_hard"),
        ({"hardness_mg_per_l": None}, "cleaning.hardness_not_recorded"),
        ({"contact_s": d(29)}, "cleaning.contact_too_short"),
        ({"contact_s": d(30)}, PASSES),
        ({"contact_s": d(31)}, PASSES),
    ],
    ids=str,
)
def test_quaternary_ammonium_at_its_limits(active, measured, outcome):
    solution = replace(a_solution(active), **measured)
    assert verdict(solution) == outcome
    assert all("4-501.114(C)" in each for each in section_of(solution, outcome))


@pytest.mark.parametrize(
    ("strength", "outcome"),
    [(149, "cleaning.too_weak"), (150, PASSES), (151, PASSES), (200, PASSES)],
)
def test_the_strength_of_quaternary_ammonium_is_the_labels(strength, outcome):
    label = a_sanitiser(Active.QUAT, label_at_least_mg_per_l=d(150), label_at_most_mg_per_l=d(200))
    assert verdict(a_solution(Active.QUAT, chemical=label, strength=at(strength))) == outcome


def test_harder_water_counts_where_the_label_says_so():
    label = a_sanitiser(Active.QUAT, label_hardness_at_most_mg_per_l=d(650))
    hard = a_solution(Active.QUAT, chemical=label)
    assert verdict(replace(hard, hardness_mg_per_l=d(650))) == PASSES
    assert verdict(replace(hard, hardness_mg_per_l=d(651))) == "cleaning.water_too_hard"


@pytest.mark.parametrize(
    "active", [Active.PEROXYACETIC_ACID, Active.HYDROGEN_PEROXIDE, Active.OTHER]
)
@pytest.mark.parametrize(
    ("contact", "outcome"), [(29, "cleaning.contact_too_short"), (30, PASSES), (31, PASSES)]
)
def test_any_other_sanitiser_works_for_thirty_seconds_or_more(active, contact, outcome):
    solution = a_solution(active, contact_s=d(contact))
    assert verdict(solution) == outcome
    assert all("4-501.114(E)" in each for each in section_of(solution, outcome))


@pytest.mark.parametrize(("rule", "use", "low", "high", "contact", "section"), HOT_WATER)
def test_hot_water_at_its_limits(rule, use, low, high, contact, section):
    def water(degc, held=contact):
        return a_solution(
            chemical=a_sanitiser(Active.HOT_WATER, name="Hot water"),
            strength=None,
            ph=None,
            hardness_mg_per_l=None,
            use=use,
            temperature_degc=d(degc),
            contact_s=None if held is None else d(held),
        )

    assert verdict(water(low)) == PASSES
    assert verdict(water(low + 1)) == PASSES
    cold = water(d(low) - d("0.1"))
    assert verdict(cold) == "cleaning.too_cold"
    assert section in section_of(cold, "cleaning.too_cold")[0]
    if high is not None:
        assert verdict(water(high)) == PASSES
        assert verdict(water(d(high) + d("0.1"))) == "cleaning.too_hot"
    if contact is not None:
        assert verdict(water(low, contact - 1)) == "cleaning.contact_too_short"


@pytest.mark.parametrize(
    ("active", "least", "contact", "section"),
    [
        (Active.CHLORINE, 100, 30, "114099.6(b)(1)"),
        (Active.IODINE, 25, 60, "114099.6(b)(2)"),
        (Active.QUAT, 200, 60, "114099.6(b)(3)"),
    ],
)
def test_california_asks_for_more_at_its_limits(active, least, contact, section):
    def solution(strength, held):
        return a_solution(active, strength=at(strength), ph=at(5), contact_s=d(held))

    assert verdict(solution(least, contact), CALIFORNIA) == PASSES
    assert verdict(solution(least, contact + 1), CALIFORNIA) == PASSES
    weak = solution(least - Decimal("0.1"), contact)
    assert verdict(weak, CALIFORNIA) == "cleaning.too_weak"
    assert section in section_of(weak, "cleaning.too_weak", CALIFORNIA)[0]
    hurried = solution(least, contact - 1)
    assert verdict(hurried, CALIFORNIA) == "cleaning.contact_too_short"
    assert section in section_of(hurried, "cleaning.contact_too_short", CALIFORNIA)[0]
    assert verdict(solution(least, contact - 1)) == PASSES


@pytest.mark.parametrize(
    ("degc", "outcome"), [(76, "cleaning.too_cold"), (77, PASSES), (78, PASSES)]
)
def test_hot_water_in_california_is_as_hot(degc, outcome):
    water = a_solution(
        chemical=a_sanitiser(Active.HOT_WATER), strength=None, temperature_degc=d(degc)
    )
    assert verdict(water, CALIFORNIA) == outcome


def test_every_no_rinse_maximum_is_tested_here():
    on_file = load_no_rinse(CLEANING / "no_rinse.csv")
    assert [(row.active, row.at_most_mg_per_l, row.section) for row in on_file] == NO_RINSE


@pytest.mark.parametrize(("active", "most", "section"), NO_RINSE)
def test_draining_is_enough_up_to_the_no_rinse_maximum_and_no_further(active, most, section):
    def drained(strength):
        return a_solution(active, strength=at(strength), ph=at(5))

    assert verdict(drained(d(most) - d("0.1"))) == PASSES
    assert verdict(drained(most)) == PASSES
    strong = drained(d(most) + d("0.1"))
    assert verdict(strong) in ("cleaning.above_no_rinse", "cleaning.too_strong")
    (source,) = section_of(strong, "cleaning.above_no_rinse")
    assert source.endswith(section)


@pytest.mark.parametrize("active", [Active.CHLORINE, Active.QUAT, Active.QUAT_BLEND])
def test_above_the_no_rinse_maximum_a_rinse_that_is_on_record_saves_the_step(active):
    strong = a_solution(active, strength=at(900), is_rinsed_after=True)
    assert verdict(strong) == PASSES
    assert verdict(replace(strong, is_rinsed_after=False)) == "cleaning.above_no_rinse"


@pytest.mark.parametrize(
    ("colour", "outcome"),
    [
        (band(50, 100), PASSES),
        (band(100, 200), PASSES),
        (band(10, 50), "cleaning.strength_unresolved"),
        (band(0, 10), "cleaning.too_weak"),
        (band(200, None), "cleaning.strength_unresolved"),
        (band(100, 300), "cleaning.above_no_rinse"),
    ],
    ids=str,
)
def test_a_strips_band_counts_only_if_the_whole_band_is_in_limits(colour, outcome):
    assert verdict(a_solution(strength=colour, temperature_degc=d(24), ph=at(7))) == outcome


@pytest.mark.parametrize(
    ("temperature", "outcome"),
    [(24, PASSES), ("23.9", "cleaning.strength_unresolved"), ("12.9", "cleaning.too_cold")],
)
def test_a_band_over_two_rows_is_held_to_the_weaker_one(temperature, outcome):
    """Between 50 and 150 it may be 50, and then 24 degC is the least at pH 8.

    Colder than that it may still be 100 or more, so nothing is proved either way down to 13.
    """
    assert verdict(a_solution(strength=band(50, 150), temperature_degc=d(temperature))) == outcome


def test_an_unresolved_band_leaves_the_step_open_and_does_not_fail_it():
    findings = sanitiser_findings(a_solution(strength=band(10, 50)), FOOD_CODE, ON)
    assert Severity.STOP not in {each.severity for each in findings}


def test_chlorine_of_unknown_ph_counts_only_where_the_label_states_a_low_one():
    unknown = a_solution(ph=None)
    assert verdict(unknown) == "cleaning.ph_not_recorded"
    assert verdict(replace(unknown, chemical=a_sanitiser(label_ph_at_most=d(10)))) == PASSES
    assert verdict(replace(unknown, chemical=a_sanitiser(label_ph_at_most=d(11)))) == (
        "cleaning.ph_not_recorded"
    )
