"""What a sulphite verdict says of itself."""

from datetime import date
from decimal import Decimal

import pytest

from kegsafe.rules.codes import MissingRule, code
from kegsafe.rules.findings import Severity
from kegsafe.rules.sulphite import SulphiteAmount, sulphite_declared

TODAY = date(2026, 5, 1)


def verdict(key, amount, density=None, on=TODAY):
    so2 = None if amount is None else Decimal(amount)
    return sulphite_declared(code(key), so2, None if density is None else Decimal(density), on)


def test_the_finding_cites_the_list_and_shows_the_amount():
    finding = verdict("england", "25", "1.02").finding
    assert finding.statement == (
        "Sulphites are declared: England food hygiene and food information law asks at more "
        "than 10 mg/l or mg/kg."
    )
    assert finding.source == "Reg. (EU) 1169/2011 Annex II as kept in UK law, point 12"
    assert finding.evidence == (("total SO2", "25.00 mg/l"), ("by weight", "24.51 mg/kg"))


def test_a_density_nobody_recorded_is_said_when_nothing_is_declared():
    finding = verdict("england", "9.8").finding
    assert finding.severity is Severity.WARN
    assert "the density is not recorded" in finding.statement


def test_a_drink_with_no_sulphite_needs_no_density():
    assert verdict("england", "0").finding.severity is Severity.NOTE


def test_an_unknown_amount_is_a_warning_with_the_reason():
    finding = verdict("eu", None).finding
    assert finding.severity is Severity.WARN
    assert finding.statement == "Sulphites are declared: the SO2 of an ingredient is not known."


def test_where_only_added_sulphites_count_the_total_stands_in_and_that_is_said():
    assert "the total is taken for them" in verdict("anz", "12").finding.statement


def test_nothing_is_rounded_before_it_is_compared():
    assert verdict("eu", "10.0000001").declared
    assert not verdict("us_fda_2022", "9.9999999").declared


def test_a_day_before_the_first_row_has_no_threshold():
    with pytest.raises(MissingRule):
        verdict("eu", "12", on=date(2010, 1, 1))


@pytest.mark.parametrize("amount", ["-0.1", "NaN"])
def test_an_impossible_amount_is_refused(amount):
    with pytest.raises(ValueError, match="so2_mg_per_l must be 0 or more"):
        verdict("eu", amount)


@pytest.mark.parametrize("density", ["0", "-1", "NaN"])
def test_an_impossible_density_is_refused(density):
    with pytest.raises(ValueError, match="density_kg_per_l must be above 0"):
        verdict("eu", "5", density)


def test_amount_by_weight_needs_both_numbers():
    assert SulphiteAmount(Decimal(10), None).mg_per_kg is None
    assert SulphiteAmount(None, Decimal(1)).mg_per_kg is None
    assert SulphiteAmount(Decimal(12), Decimal("1.2")).mg_per_kg == 10
