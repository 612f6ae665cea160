"""Figures through the front door, against what stands outside the project.

Carbonation and warm-up: computed with a reference equation of state and a geochemistry
library beside published solubility tables (shared/science/co2_solubility.csv names them).
What a bar does with them (50 psi, 2 degC) is common practice, no source.
"""

import pytest

from kegsafe.calculators.answering import ask
from kegsafe.calculators.calculator import Answer, Refused
from kegsafe.calculators.registry import calculator_called


def answer(name: str, **typed: str) -> Answer:
    return ask(calculator_called(name), typed).answer


def figure(name: str, key: str, **typed: str) -> object:
    return {each.key: each.value for each in answer(name, **typed).results}[key]


def test_fifty_psi_at_two_degrees_ends_at_six_point_eight_volumes():
    """PHREEQC within 1.5 %, rows of shared/science/co2_solubility.csv. [computed]"""
    volumes = figure("carbonation", "volumes", temperature="2 degC", pressure="50 psi")
    assert volumes == pytest.approx(6.79, rel=0.01)


def test_a_degree_fahrenheit_and_a_bar_give_the_same_answer_as_celsius_and_psi():
    us = figure("carbonation", "volumes", temperature="35.6 °F", pressure="50 psi")
    metric = figure("carbonation", "volumes", temperature="2 °C", pressure="3.4473786 bar")
    assert us == pytest.approx(metric, rel=1e-6)


def test_the_two_carbonation_calculators_undo_each_other():
    gauge = figure("carbonation-pressure", "pressure", temperature="4 °C", volumes="3 volumes")
    back = figure("carbonation", "volumes", temperature="4 °C", pressure=f"{gauge:.6f} bar")
    assert back == pytest.approx(3.0, abs=1e-4)


WARM = {"keg": "19 L", "liquid": "17 L", "temperature": "2 °C", "pressure": "50 psi"}


def test_a_keg_carbonated_at_fifty_psi_and_warmed_to_a_room_passes_a_seven_bar_relief_valve():
    """Weiss with the vapour and swelling of water, worked by hand. [computed]"""
    found = answer("warm-up", **WARM, new_temperature="20 °C", relief="7 bar", rated="9 bar")
    by_key = {each.key: each.value for each in found.results}
    assert by_key["pressure"] == pytest.approx(6.9, abs=0.1)
    assert by_key["passes_relief"] is True
    assert by_key["passes_rating"] is False
    assert any("relief valve" in warning for warning in found.warnings)


def test_a_rating_left_blank_is_not_unlimited():
    found = answer("warm-up", **WARM, new_temperature="20 °C")
    by_key = {each.key: each for each in found.results}
    assert by_key["passes_rating"].value is None
    assert "never means unlimited" in " ".join(found.warnings)


def test_a_keg_that_swells_full_gets_a_warning_and_no_pressure():
    brim = {**WARM, "liquid": "18.99 L"}
    found = answer("warm-up", **brim, new_temperature="30 °C", rated="9 bar")
    by_key = {each.key: each for each in found.results}
    assert by_key["pressure"].value is None
    assert by_key["passes_rating"].value is True
    assert "can burst" in found.warnings[0]


def test_more_drink_than_keg_is_refused_at_the_drink():
    with pytest.raises(Refused) as refused:
        answer("warm-up", **{**WARM, "liquid": "20 L"}, new_temperature="20 °C")
    assert list(refused.value.errors) == ["liquid"]
    assert "to 19 L" in refused.value.errors["liquid"][0]


def test_a_cylinder_at_room_temperature_stands_at_the_saturation_pressure():
    """Span and Wagner 1996: 57.29 bar absolute at 20 degC. [computed]"""
    filled = {"filling_ratio": "0.68 kg/L", "temperature": "20 °C"}
    assert figure("cylinder-pressure", "pressure", **filled) == pytest.approx(57.29, abs=0.02)
    assert figure("cylinder-pressure", "phase", **filled) == "liquid and gas"


def test_ten_kilograms_in_a_small_cellar_are_far_past_what_is_immediately_dangerous():
    """NIOSH 1994: 40 000 ppm is immediately dangerous to life and health. [read]"""
    ppm = figure("gas-release", "concentration", mass="10 kg", room="40 m3")
    assert ppm > 3 * 40_000


def test_every_published_limit_in_force_gets_its_least_room():
    found = answer("gas-release", mass="9.07 kg", room="40 m3")
    labels = [each.label for each in found.results if each.key.startswith("least_room")]
    assert any("OSHA PEL, 8 h TWA (5000 ppm)" in label for label in labels)
    assert not any("vacated" in label or "superseded" in label for label in labels)


def test_half_spirit_half_water_comes_to_less_than_half_the_volume_lost_and_twenty_per_cent():
    """CRC Handbook, 102nd ed., ethanol: densities of 40 and 20 % vol. [second-hand]"""
    parts = '[["1 L", "40 %"], ["1 L", "0 %"]]'
    assert figure("blend-alcohol", "abv", parts=parts) == pytest.approx(20.0, abs=0.05)
    assert 0 < figure("blend-alcohol", "contraction", parts=parts) < 10


def test_wine_in_a_long_drink_is_declared_by_every_list_from_ten_milligrams():
    """Reg. (EU) 1169/2011 Annex II point 12; 21 CFR 130.9(a). [read]"""
    exactly_ten = "100 ml, 10 mg/L"
    by_key = {each.key: each.value for each in answer("sulphite", parts=exactly_ten).results}
    assert by_key["declared_us"] is True
    assert by_key["declared_eu"] is False


def test_a_part_whose_sulphite_nobody_knows_is_declared():
    unknown = "20 ml, 90 mg/L\n100 ml,"
    by_key = {each.key: each.value for each in answer("sulphite", parts=unknown).results}
    assert by_key["total_so2"] is None
    assert by_key["declared_eu"] is True


def test_a_syrup_of_fifty_brix_has_the_activity_of_the_tables():
    """Robinson and Stokes, osmotic coefficients at 25 degC. [memory]"""
    assert figure("water-activity", "water_activity", brix="50 Brix") == pytest.approx(
        0.935, abs=0.002
    )


def test_alcohol_earns_no_water_activity():
    without = figure("water-activity", "water_activity", brix="20 Brix", salt="1 % w/w")
    assert without == pytest.approx(
        figure("water-activity", "water_activity", brix="20 Brix", salt="1 % w/w", abv="20 %")
    )


def test_bleach_of_the_cdc_example_takes_six_parts_of_water():
    """CDC, Environmental Infection Control, Appendix E: 3.5 % to 0.5 %. [read]"""
    typed = {"concentrate": "3.5 % w/v", "wanted": "5000 ppm", "volume": "7 L"}
    assert figure("dilution", "parts_of_water", **typed) == pytest.approx(6.0)
    assert figure("dilution", "concentrate", **typed) == pytest.approx(1000.0)


def test_a_percentage_that_does_not_say_of_what_is_refused_for_a_concentrate():
    with pytest.raises(Refused) as refused:
        answer("dilution", concentrate="12 %", wanted="200 ppm", volume="5 L")
    assert "12 % w/w or 12 % w/v" in refused.value.errors["concentrate"][0]


def test_a_strength_by_weight_asks_for_the_density():
    with pytest.raises(Refused) as refused:
        answer("dilution", concentrate="12 % w/w", wanted="200 ppm", volume="5 L")
    assert list(refused.value.errors) == ["density"]


def test_the_carried_over_protein_is_held_against_the_dose_of_its_own_source():
    """FAO/WHO 2022: 1 mg of almond protein. [second-hand]"""
    found = answer(
        "carry-over",
        hold_up="60 ml", protein="3 g/L", rinse="300 ml", pour="150 ml", allergen="almond",
    )  # fmt: skip
    by_key = {each.key: each.value for each in found.results}
    assert by_key["fully_mixed"] == pytest.approx(180 * 2.718281828**-5)
    assert by_key["reaches_fao_who_almond"] is True


def test_water_boils_near_ninety_five_degrees_at_five_thousand_feet():
    """Printed table of boiling points by altitude, 5000 ft: 94.9 or 95.0. [second-hand]"""
    assert figure("boiling-point", "boiling_point", altitude="5000 ft") == pytest.approx(
        95.0, abs=0.25
    )


def test_altitude_and_air_pressure_together_are_one_too_many():
    with pytest.raises(Refused, match="Both are filled in"):
        answer("boiling-point", altitude="0 m", air_pressure="1013 hPa absolute")


def test_an_unread_night_is_not_a_cold_night():
    found = answer("growth", log="0 h, 4 °C\n1 h, 4 °C\n9 h, 4 °C")
    by_key = {each.key: each.value for each in found.results}
    assert by_key["charged"] is None
    assert by_key["unverified"] == pytest.approx(8 * 3600)
    assert "unread hour" in found.warnings[0]


def test_a_steady_log_has_its_own_temperature_as_its_kinetic_mean():
    log = "2026-04-07 18:00, 5 °C\n2026-04-07 20:00, 41 °F"
    assert figure("mean-kinetic-temperature", "mean_kinetic_temperature", log=log) == (
        pytest.approx(5.0, abs=1e-6)
    )
