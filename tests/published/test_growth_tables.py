"""Growth ratios against the table of the 2003 Listeria risk assessment and two others."""

import pytest

from kegsafe.science.growth import T_MIN_DEGC, T_MIN_MILK_DEGC, relative_rate
from kegsafe.science.tables import rows
from tests.published.published_table import label

ASSESSED = [
    dict(row)
    for row in rows("science/published_growth_rates")
    if row["published_at_5_degc_log10_per_day"]
]


@pytest.mark.parametrize("row", ASSESSED, ids=label)
def test_a_rate_measured_warm_converts_to_5_degc_as_the_assessment_converted_it(row):
    """FDA/FSIS/CDC 2003, Appendix 8, table 1; three decimals printed."""
    computed = float(row["value"]) / relative_rate(float(row["temperature_degc"]))
    printed = float(row["published_at_5_degc_log10_per_day"])
    assert computed == pytest.approx(printed, abs=max(0.0011, 0.007 * printed))


def test_yersinia_speeds_up_from_5_to_25_degc_within_a_factor_of_one_and_a_half():
    """Hanna et al. 1977: 17 h a generation at 5 degC, 1.3 h at 25 degC. [second-hand]"""
    ratio = relative_rate(25.0) / (17.0 / 1.3)
    assert 1 / 1.5 < ratio < 1.5


def test_the_flora_of_orange_juice_speeds_up_from_4_to_10_degc_within_a_fifth():
    """Raccach and Mellatdoust 2007: 12.7 days at 4 degC, 3 days at 10 degC. [second-hand]"""
    ratio = relative_rate(10.0) / relative_rate(4.0)
    assert ratio == pytest.approx(12.7 / 3.0, rel=0.2)


@pytest.mark.parametrize(
    ("organism", "used"),
    [
        ("Listeria monocytogenes", T_MIN_DEGC),
        ("Listeria monocytogenes in milk", T_MIN_MILK_DEGC),
    ],
)
def test_the_foot_of_the_line_is_the_one_on_file(organism, used):
    on_file = {
        row["organism"]: float(row["t_min_degc"]) for row in rows("science/growth_parameters")
    }
    assert on_file[organism] == used
