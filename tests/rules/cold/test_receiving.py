"""How cold a delivery came, and what the code of the venue says to that."""

from datetime import date
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from kegsafe.rules.codes import code
from kegsafe.rules.cold.receiving import arrival_findings
from kegsafe.rules.facts import House
from kegsafe.rules.findings import Severity
from kegsafe.rules.limits import LocalLimit

ON = date(2026, 7, 4)


def severity(degc, key="us_fda_2022", **how):
    own = how.pop("local_limits", ())
    house = House(code(key), ZoneInfo("UTC"), own)
    arrived = None if degc is None else Decimal(degc)
    findings = arrival_findings(arrived, house, ON, **{"needs_chill": True, **how})
    return findings[-1].severity if findings else None


@pytest.mark.parametrize(
    ("key", "degc", "expected"),
    [
        ("us_fda_2022", "5.0", Severity.NOTE),
        ("us_fda_2022", "5.1", Severity.STOP),
        ("anz", "5.0", Severity.NOTE),
        ("anz", "5.01", Severity.STOP),
        ("england", "8.0", Severity.NOTE),
        ("england", "8.1", Severity.STOP),
        ("eu", "3.0", Severity.ASK),
    ],
)
def test_the_chill_limit_of_the_code_holds_on_arrival(key, degc, expected):
    assert severity(degc, key) is expected


def test_a_delivery_nobody_measured_is_asked_about():
    assert severity(None) is Severity.ASK


def test_what_needs_no_cold_is_not_judged():
    assert severity("25", needs_chill=False) is None


def test_where_the_code_is_silent_the_venues_own_limit_holds():
    own = LocalLimit(
        "cold_holding.maximum", Decimal(4), "degC", date(2026, 1, 1), "", "", None, "A"
    )
    assert severity("4.1", "eu", local_limits=(own,)) is Severity.STOP
