"""Which pressure a gas system may be set to: the lowest rating and the relief valve decide.

That a regulator's relief is set to the allowed pressure and works: DGUV Grundsatz 310-008 [read].
Nine tenths of the relief setting, and 200 bar at the inlet, are house rules. The worked cases 41
and 42 are sums anybody can make.
"""

from decimal import Decimal
from itertools import pairwise

import pytest

from kegsafe.rules.pressure.gas_system import (
    GasSystem,
    Part,
    ceiling,
    connection_findings,
    set_pressure_findings,
)

BAR = Decimal(100_000)


def bar(number):
    return None if number is None else Decimal(number) * BAR


def part(key, kind, rated=None, relief=None, inlet=None, **facts):
    return Part(key, key, kind, bar(rated), bar(relief), bar(inlet), **facts)


def system(*chain, relief="6", keg_ratings=("9",)):
    """A cylinder, a regulator with its relief, and kegs behind it."""
    parts = [
        part("cylinder", "cylinder", "250"),
        part("regulator", "regulator", "10", relief, "250"),
        *chain,
    ]
    kegs = [part(f"keg {at}", "keg", rated) for at, rated in enumerate(keg_ratings, 1)]
    feeds = {first.key: (second.key,) for first, second in pairwise(parts)}
    feeds[parts[-1].key] = tuple(keg.key for keg in kegs)
    return GasSystem({each.key: each for each in (*parts, *kegs)}, feeds)


def rules(findings):
    return [finding.rule for finding in findings]


def said(findings):
    return " ".join(finding.statement for finding in findings)


def test_the_relief_above_the_weakest_part_protects_nothing():
    """Worked case 41: parts 9, 7 and 10 bar, relief 8 bar."""
    gas = system(part("hose", "hose", "10"), relief="8", keg_ratings=("9", "7"))
    found = ceiling(gas, "regulator")
    assert found.gauge_pa is None
    assert "opens at 8.00 bar gauge, above the rated 7.00 bar gauge of keg 2" in said(
        found.findings
    )


def test_a_rating_nobody_copied_is_never_unlimited():
    """Worked case 42: parts 9, 9 and blank, relief 7 bar."""
    found = ceiling(system(relief="7", keg_ratings=("9", "9", None)), "regulator")
    assert found.gauge_pa is None
    assert "No rated pressure of keg 3 is on record" in said(found.findings)


def test_without_a_relief_valve_nothing_is_pressurised():
    assert rules(ceiling(system(relief=None), "regulator").findings) == [
        "set_pressure.no_relief_valve"
    ]


def test_a_relief_valve_on_one_lid_does_not_guard_the_system():
    gas = system(relief=None)
    lid = part("lid valve", "relief_valve", None, "6")
    on_lid = GasSystem({**gas.parts, lid.key: lid}, {**gas.feeds, "keg 1": (lid.key,)})
    assert "set_pressure.no_relief_valve" in rules(ceiling(on_lid, "regulator").findings)


@pytest.mark.parametrize(
    ("set_bar", "is_refused"), [("5.39", False), ("5.4", False), ("5.41", True), ("9.5", True)]
)
def test_nine_tenths_of_the_relief_setting_is_the_most(set_bar, is_refused):
    found = set_pressure_findings(system(relief="6"), "regulator", bar(set_bar))
    assert bool(found) is is_refused


@pytest.mark.parametrize(("set_bar", "named"), [("3", False), ("3.01", True)])
def test_the_weakest_keg_is_named(set_bar, named):
    # A relief of 3 bar would bind first: the manifold's is taken off here to see the keg alone.
    gas = system(relief="3", keg_ratings=("9", "3"))
    statements = said(set_pressure_findings(gas, "regulator", bar(set_bar)))
    assert ("keg 2 is rated 3.00 bar gauge" in statements) is named


def test_a_part_that_is_not_in_use_carries_no_pressure():
    gas = system(part("hose", "hose", "10", in_use=False))
    assert "hose is not in use." in said(ceiling(gas, "regulator").findings)


def test_a_cylinder_feeds_nothing_but_a_regulator():
    gas = GasSystem(
        {each.key: each for each in (part("c", "cylinder", "250"), part("k", "keg", "9"))},
        {"c": ("k",)},
    )
    assert rules(connection_findings(gas, {})) == ["set_pressure.no_regulator"]


@pytest.mark.parametrize(
    ("inlet", "is_refused"), [(None, True), ("199", True), ("200", False), ("250", False)]
)
def test_a_regulator_on_a_cylinder_bears_the_cylinders_pressure(inlet, is_refused):
    parts = (part("c", "cylinder", "250"), part("r", "regulator", "10", "6", inlet))
    gas = GasSystem({each.key: each for each in parts}, {"c": ("r",)})
    assert bool(connection_findings(gas, {})) is is_refused


def test_a_second_regulator_does_not_lift_the_bound():
    gas = system(part("second", "regulator", "10", "6", "250"), relief="6", keg_ratings=("3",))
    assert ceiling(gas, "regulator").gauge_pa is None
