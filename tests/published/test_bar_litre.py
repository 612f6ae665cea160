"""Plate pressure times volume against the bounds of the laws.

Directive 2014/68/EU: Art. 1(1) scope [read], Art. 1(2)(r) drinks vessels [read], Art. 4(3)
[second-hand], Annex II Table 2: 50 [read], 200, 1000, 3000 [memory]. SI 2000/128: 250 bar L
[second-hand]. ASME BPVC VIII-1 U-1: 15 psi [second-hand].
"""

from decimal import Decimal

import pytest

from kegsafe.rules.findings import Severity
from kegsafe.rules.pressure.bar_litre import (
    Vessel,
    is_within_drinks_exclusion,
    ped_category,
    readings,
)


def vessel(litres, bar, **facts):
    pa = None if bar is None else Decimal(bar) * 100_000
    return Vessel("Keg K7", Decimal(litres) * 1000, pa, **facts)


def said(found):
    return " ".join(finding.statement for finding in found)


@pytest.mark.parametrize(
    ("litres", "bar", "word"),
    [
        pytest.param("19", "0.5", "out of scope", id="worked case 9: must be greater"),
        pytest.param("19", "0.51", "sound engineering practice, no CE mark", id="just in scope"),
        pytest.param("1.0", "60", "sound engineering practice, no CE mark", id="worked case 8"),
        pytest.param("1.0", "1000", "sound engineering practice, no CE mark", id="1 L at 1000"),
        pytest.param("1.0", "1001", "category III", id="1 L above 1000"),
        pytest.param("1.0", "3000", "category III", id="1 L at 3000"),
        pytest.param("1.0", "3001", "category IV", id="1 L above 3000"),
        pytest.param("1.01", "60", "category I", id="above 1 L"),
        pytest.param("10", "5", "sound engineering practice, no CE mark", id="50 exactly"),
        pytest.param("10", "5.01", "category I", id="above 50"),
        pytest.param("19", "8.96", "category I", id="worked case 5"),
        pytest.param("20", "9", "category I", id="180"),
        pytest.param("20", "10", "category I", id="200 exactly"),
        pytest.param("19", "10.6", "category II", id="worked case 7"),
        pytest.param("100", "10", "category II", id="1000 exactly"),
        pytest.param("100", "10.01", "category III", id="above 1000"),
        pytest.param("100", "30", "category III", id="3000 exactly"),
        pytest.param("100", "30.01", "category IV", id="above 3000"),
    ],
)
def test_annex_ii_at_its_bounds(litres, bar, word):
    assert ped_category(Decimal(litres), Decimal(bar))[0] == word


@pytest.mark.parametrize(
    ("litres", "bar", "fits"),
    [
        ("19", "7", True),  # worked case 4: 133 bar L
        ("19", "7.01", False),
        ("50", "7", True),  # 350 bar L
        ("71.4", "7", True),  # 499.8 bar L
        ("71.5", "7", False),  # 500.5 bar L
        ("100", "5", True),  # 500 exactly
    ],
)
def test_the_drinks_exclusion_at_its_bounds(litres, bar, fits):
    assert is_within_drinks_exclusion(Decimal(litres), Decimal(bar)) is fits


def test_a_7_bar_keg_of_unknown_purpose_is_shown_both_ways_and_asked_about():
    """Worked case 6."""
    found = readings(vessel("19", "7"), "EU")
    assert "133 bar L" in said(found)
    assert "One reading: outside the directive" in said(found)
    assert "Other reading: category I." in said(found)
    assert [each.severity for each in found][-1] is Severity.ASK


def test_a_declared_drinks_keg_of_7_bar_has_one_reading():
    """Worked case 4."""
    found = readings(vessel("19", "7", is_for_drinks_distribution=True), "EU")
    assert "One reading: outside the directive" in said(found)
    assert "category" not in said(found)


def test_a_keg_of_130_psi_fails_the_exclusion():
    """Worked case 5: 170.2 bar L."""
    found = readings(vessel("19", "8.96"), "EU")
    assert "170.2 bar L" in said(found)
    assert "The exclusion for drinks vessels fails" in said(found)
    assert "Reading: category I." in said(found)


@pytest.mark.parametrize(
    ("litres", "bar", "where"),
    [
        pytest.param("19", "9", "171 bar L is below 250 bar L", id="worked case 10"),
        pytest.param("50", "7", "350 bar L is not below 250 bar L", id="worked case 10, 50 L"),
        ("25", "9.99", "249.8 bar L is below 250 bar L"),
        ("25", "10", "250 bar L is not below 250 bar L"),
    ],
)
def test_the_product_of_the_british_regulations(litres, bar, where):
    assert where in said(readings(vessel(litres, bar), "UK"))


@pytest.mark.parametrize(("psi", "side"), [("15", "at or below"), ("15.1", "above")])
def test_fifteen_psi_of_the_boiler_code(psi, side):
    # NIST SP 811 (2008), appendix B.8: 1 psi = 6894.757 Pa. [memory]
    keg = Vessel("Keg K7", Decimal(19_000), Decimal(psi) * Decimal("6894.757"))
    assert f"psi gauge, {side} 15 psi" in said(readings(keg, "US"))


def test_a_plate_that_says_nothing_is_not_allowed_under_pressure():
    (only,) = readings(vessel("19", None), "EU")
    assert only.severity is Severity.STOP
    assert "not allowed under pressure" in only.statement


def test_without_a_regime_every_reading_is_shown():
    rules = {finding.rule for finding in readings(vessel("19", "9"), "")}
    assert {"ped.category_1", "pssr.scheme_product", "asme.scope"} <= rules


@pytest.mark.parametrize("regime", ["US", "UK", "EU", "Australia", ""])
@pytest.mark.parametrize("bar", ["3", "7", "9"])
def test_no_reading_calls_a_keg_lawful(regime, bar):
    words = said(readings(vessel("19", bar), regime)).lower()
    assert not [word for word in ("compliant", "safe to", "approved", "lawful") if word in words]


@pytest.mark.parametrize("regime", ["US", "UK", "EU"])
def test_each_reading_names_its_document_and_section(regime):
    found = [each for each in readings(vessel("19", "9"), regime) if each.verified != "computed"]
    assert found
    assert all("," in finding.source for finding in found)
