"""What a leak test and a weighed loss say."""

import pytest

from kegsafe.rules.findings import Severity
from kegsafe.rules.pressure.leak import judge_gas_balance, judge_leak_test
from kegsafe.science.pressure_decay import leak_test


def a_test(end_bar_abs, end_degc=20.0, hours=12.0, start_degc=20.0, start=4.4):
    return leak_test(
        volume_l=5.0,
        start_bar_abs=start,
        start_degc=start_degc,
        end_bar_abs=end_bar_abs,
        end_degc=end_degc,
        hours=hours,
    )


def test_cooling_alone_is_no_leak():
    """Worked case 35: 4.413 bar at 22 degC, 4.263 bar at 12 degC."""
    found = judge_leak_test(a_test(4.263, 12.0, start_degc=22.0, start=4.413), gauge_error_bar=0.05)
    assert found.severity is Severity.WARN
    assert dict(found.evidence)["corrected drop"] in {"0.000 bar", "-0.000 bar"}


@pytest.mark.parametrize(
    ("end", "severity"), [(4.36, Severity.WARN), (4.35, Severity.WARN), (4.34, Severity.STOP)]
)
def test_a_drop_that_the_gauge_can_show_fails(end, severity):
    assert judge_leak_test(a_test(end), gauge_error_bar=0.0501).severity is severity


@pytest.mark.parametrize(("limit", "severity"), [(0.0751, Severity.STOP), (0.0753, Severity.WARN)])
def test_the_competent_persons_limit_decides_where_there_is_one(limit, severity):
    """Worked case 36: 4.4 to 4.3 bar in 12 h are 0.0752 g/h."""
    found = judge_leak_test(a_test(4.3), gauge_error_bar=0.01, limit_g_per_h=limit)
    assert found.severity is severity


def test_a_passed_test_proves_no_tightness():
    assert "no proof of tightness" in judge_leak_test(a_test(4.4), gauge_error_bar=0.16).statement


@pytest.mark.parametrize(
    ("used", "severity"), [(1399.0, Severity.NOTE), (1400.0, Severity.NOTE), (1401.0, Severity.ASK)]
)
def test_a_loss_beyond_what_is_explained_asks_for_a_leak_test(used, severity):
    found = judge_gas_balance(used_g=used, expected_g=1000.0, uncertainty_g=100.0)
    assert found.severity is severity
