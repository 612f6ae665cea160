"""Holding by the clock: only where the code has it, and only as written down beforehand."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from kegsafe.rules.codes import code
from kegsafe.rules.cold.time_control import Option, time_control_verdict
from kegsafe.rules.facts import House
from kegsafe.rules.findings import Severity

NOON = datetime(2026, 7, 4, 12, 0, tzinfo=UTC)


def verdict(key="us_fda_2022", **facts):
    stated = {
        "option": Option.FOUR_HOURS,
        "removed_at": NOON,
        "start_degc": Decimal(4),
        "read_since_degc": (),
        "has_written_procedure": True,
        "on": date(2026, 7, 4),
        "now": NOON,
    }
    return time_control_verdict(house=House(code(key), ZoneInfo("UTC")), **{**stated, **facts})


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        ({"has_written_procedure": False}, "written procedure"),
        ({"start_degc": None}, "was not taken"),
        ({"start_degc": Decimal("5.1")}, "5 °C (41 °F) is the most"),
        ({"key": "england"}, "no rule for holding by time alone"),
    ],
)
def test_what_is_missing_closes_the_option(facts, words):
    refused = verdict(**facts)
    assert refused.discard_at is None
    assert refused.findings[0].severity is Severity.STOP
    assert words in refused.findings[0].statement


@pytest.mark.parametrize(("minutes", "severity"), [(239, Severity.NOTE), (240, Severity.STOP)])
def test_the_time_ends_with_its_last_minute(minutes, severity):
    (finding,) = verdict(now=NOON + timedelta(minutes=minutes)).findings
    assert finding.severity is severity
