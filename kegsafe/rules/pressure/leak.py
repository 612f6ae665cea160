"""What a pressure-decay test says, and when a loss of gas asks for one."""

from kegsafe.rules.findings import Finding, Severity
from kegsafe.rules.pressure.figures import figure
from kegsafe.science.pressure_decay import LeakTest


def judge_leak_test(
    test: LeakTest, *, gauge_error_bar: float, limit_g_per_h: float | None = None
) -> Finding:
    """Return whether a test failed. The competent person's limit goes before the screening one.

    limit_g_per_h : set by the competent person, None where none is on record
    gauge_error_bar : of one reading; a corrected drop above it fails the screening
    """
    numbers = (
        ("corrected drop", f"{test.corrected_drop_bar:.3f} bar"),
        ("leak", f"{test.leak_g_per_h:.3f} g/h"),
        ("smallest leak that shows", f"{test.smallest_visible_g_per_h:.3f} g/h"),
    )
    if limit_g_per_h is not None:
        failed = test.leak_g_per_h > limit_g_per_h
        against = f"the competent person's limit of {limit_g_per_h:g} g/h"
        source, verified = "limit of the competent person", "venue"
    else:
        row = figure("leak.screening_hours")
        failed = test.corrected_drop_bar > gauge_error_bar
        against = f"what the gauge can show ({gauge_error_bar:g} bar)"
        source, verified = row.source, row.verified
    said = f"The corrected drop is {'above' if failed else 'not above'} {against}."
    tail = "" if failed else " That is no proof of tightness: a smaller leak does not show."
    severity = Severity.STOP if failed else Severity.WARN
    return Finding("leak.test", severity, said + tail, source, verified, numbers)


def judge_gas_balance(*, used_g: float, expected_g: float, uncertainty_g: float) -> Finding:
    """Return whether weighed use is more than the fills explain; then a leak test is asked for.

    used_g : between two weighings of one cylinder
    expected_g : what fills and dispensing should have taken
    uncertainty_g : of the two weighings together
    """
    allowance = figure("balance.loss_share")
    most = expected_g * (1 + float(allowance.value) / 100) + uncertainty_g
    loss = used_g - expected_g
    numbers = (
        ("used", f"{used_g:.0f} g"),
        ("explained", f"{expected_g:.0f} g"),
        ("at most", f"{most:.0f} g"),
    )
    if used_g > most:
        said = f"{loss:.0f} g more went than the fills explain. Make a leak test, and air the room."
        severity = Severity.ASK
    else:
        said = "The weighed use is explained within the stated uncertainty."
        severity = Severity.NOTE
    return Finding("leak.balance", severity, said, allowance.source, allowance.verified, numbers)
