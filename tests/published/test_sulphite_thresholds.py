"""When sulphites are declared, against the thresholds of the lists.

Sources: Reg. (EU) 1169/2011 Annex II point 12 (more than 10 mg/kg or 10 mg/l, total SO2) [read];
21 CFR 130.9(a) and 27 CFR 4.32(e) (10 ppm or more) [read]; Canadian Food and Drug Regulations
B.01.010.1 (10 p.p.m. or more, added) [read]; Standard 1.2.3 of Australia and New Zealand
(10 mg/kg or more, added) [second-hand]. Default amounts for an unknown lemon juice (350 mg/l)
and white wine (200 mg/l) are the legal maxima of Reg. (EC) 1333/2008 category 14.1.2
[second-hand] and Del. Reg. (EU) 2019/934 Annex I Part B [read].
"""

from datetime import date
from decimal import Decimal

import pytest

from kegsafe.rules.codes import code, regimes
from kegsafe.rules.sulphite import sulphite_declared

TODAY = date(2026, 5, 1)
MORE_THAN = ("eu", "uk")
AT_LEAST = ("us", "canada", "anz", "codex")


def so2_of(parts: list[tuple[int, int]], total_ml: int) -> Decimal:
    """Total SO2 in mg/l of (ml, mg/l) parts in a drink of total_ml."""
    return Decimal(sum(ml * mg_per_l for ml, mg_per_l in parts)) / total_ml


@pytest.mark.parametrize(
    ("parts", "total_ml", "printed", "eu_uk", "others"),
    [
        pytest.param([(90, 120), (60, 130)], 180, "103.33", True, True, id="S1 wine spritz"),
        pytest.param([(20, 90)], 160, "11.25", True, True, id="S2 vermouth"),
        pytest.param([(15, 100)], 180, "8.33", False, False, id="S3 cordial, topped"),
        pytest.param([(15, 100)], 60, "25.00", True, True, id="S4 the same, untopped"),
        pytest.param([(20, 100)], 200, "10.00", False, True, id="S5 exactly ten"),
        pytest.param([(10, 350)], 150, "23.33", True, True, id="S6 lemon juice, unknown"),
        pytest.param([(25, 200)], 500, "10.00", False, True, id="S7 white wine, unknown"),
    ],
)
def test_worked_drinks(parts, total_ml, printed, eu_uk, others):
    amount = so2_of(parts, total_ml)
    assert f"{amount:.2f}" == printed
    for regime in MORE_THAN:
        assert sulphite_declared(regimes()[regime], amount, None, TODAY).declared is eu_uk
    for regime in AT_LEAST:
        assert sulphite_declared(regimes()[regime], amount, None, TODAY).declared is others


@pytest.mark.parametrize("regime", [*MORE_THAN, *AT_LEAST])
def test_s8_a_light_drink_reaches_the_threshold_by_weight_first(regime):
    verdict = sulphite_declared(regimes()[regime], Decimal("9.8"), Decimal("0.96"), TODAY)
    assert verdict.declared
    assert ("by weight", "10.21 mg/kg") in verdict.finding.evidence


@pytest.mark.parametrize(
    ("key", "amount", "declared"),
    [
        ("eu", "10.00", False),
        ("eu", "10.01", True),
        ("england", "10.00", False),
        ("england", "10.01", True),
        ("us_fda_2022", "9.99", False),
        ("us_fda_2022", "10.00", True),
        ("anz", "9.99", False),
        ("anz", "10.00", True),
    ],
)
def test_the_threshold_and_both_sides_of_it(key, amount, declared):
    assert sulphite_declared(code(key), Decimal(amount), None, TODAY).declared is declared


@pytest.mark.parametrize("key", ["eu", "england", "us_fda_2022", "anz"])
def test_an_amount_that_is_not_known_is_declared(key):
    assert sulphite_declared(code(key), None, None, TODAY).declared
