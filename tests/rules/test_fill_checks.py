"""A keg is not filled at a pressure that opens a relief valve on its lid, whatever valves it has.

The bound is the valve's own setting: a relief valve opens at its set pressure (ISO 4126-1,
definition of set pressure [memory]). The share of nine tenths is this program's own house rule.
"""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.rules.facts import KegFacts, LidValve
from kegsafe.rules.fill_checks import FillPlan, fill_checks, pressure_findings
from kegsafe.rules.findings import Finding, Severity
from tests.rules.pour_facts import NOW, whole_facts

BAR = Decimal(100_000)
PRESSURES = st.integers(1, 20_000_000).map(lambda tenths: Decimal(tenths) / 10)


def a_keg(*opens: Decimal | None, rated: Decimal | None = 9 * BAR) -> KegFacts:
    """Return a keg rated for 9 bar gauge with one valve for each setting."""
    valves = (LidValve(f"Relief valve V{nth}", each) for nth, each in enumerate(opens, start=1))
    return KegFacts("Keg K1", True, "", rated, "stainless", tuple(valves))


def said(keg: KegFacts, set_gauge_pa: Decimal) -> list[tuple[str, Severity]]:
    return [(each.rule, each.severity) for each in pressure_findings(keg, set_gauge_pa)]


@pytest.mark.parametrize(
    ("set_gauge_pa", "found"),
    [
        ("269999.9", []),
        ("270000", []),
        ("270000.1", [("keg.near_relief", Severity.WARN)]),
        ("299999.9", [("keg.near_relief", Severity.WARN)]),
        ("300000", [("keg.over_relief", Severity.STOP)]),
        ("300000.1", [("keg.over_relief", Severity.STOP)]),
    ],
)
def test_a_valve_that_opens_at_3_bar_bounds_the_set_pressure(set_gauge_pa, found):
    assert said(a_keg(3 * BAR), Decimal(set_gauge_pa)) == found


def test_the_stop_names_the_valve_the_keg_and_both_figures_as_gauge():
    (finding,) = pressure_findings(a_keg(3 * BAR), Decimal("3.456") * BAR)
    assert "The set pressure is 3.46 bar gauge" in finding.statement
    assert "Relief valve V1 on the lid of Keg K1 opens at 3.00 bar gauge" in finding.statement
    assert "never plug, adjust or swap" in finding.statement


def test_a_setting_nobody_recorded_is_asked_for_and_is_not_counted_on():
    (finding,) = pressure_findings(a_keg(None), BAR)
    assert (finding.rule, finding.severity) == ("keg.no_relief_setting", Severity.ASK)
    assert "not recorded: not allowed to count on" in finding.statement


def test_each_of_two_valves_is_judged_by_itself():
    assert said(a_keg(None, 2 * BAR), 2 * BAR) == [
        ("keg.no_relief_setting", Severity.ASK),
        ("keg.over_relief", Severity.STOP),
    ]


def test_a_keg_without_a_valve_on_record_is_held_to_its_rating_alone():
    assert said(a_keg(), 9 * BAR) == []
    assert said(a_keg(), 9 * BAR + 1) == [("keg.over_rating", Severity.STOP)]


def a_plan(keg: KegFacts, set_gauge_pa: Decimal, *gear: Finding) -> FillPlan:
    facts = whole_facts()
    return FillPlan(
        keg=keg,
        capacity_ml=Decimal(19_000),
        is_empty=True,
        history=facts.fill.keg_history,
        drink=replace(facts.fill.drink, filled_at=NOW),
        volume_ml=Decimal(10_000),
        set_gauge_pa=set_gauge_pa,
        drink_sources=frozenset(),
        gear_findings=gear,
    )


def stops(plan: FillPlan) -> set[str]:
    found = fill_checks(plan, whole_facts().house, NOW)
    return {each.rule for each in found if each.severity is Severity.STOP}


def test_a_valve_out_of_service_stops_the_fill_as_it_stops_the_pour():
    out = Finding("pressure.relief_valve_out", Severity.STOP, "Out.", "Checks")
    assert stops(a_plan(a_keg(7 * BAR), 2 * BAR)) == set()
    assert stops(a_plan(a_keg(7 * BAR), 2 * BAR, out)) == {"pressure.relief_valve_out"}


@given(
    opens=st.lists(st.none() | PRESSURES, max_size=4),
    rated=st.none() | PRESSURES,
    set_gauge_pa=PRESSURES,
)
def test_no_accepted_fill_exceeds_the_rating_or_opens_a_valve(opens, rated, set_gauge_pa):
    if stops(a_plan(a_keg(*opens, rated=rated), set_gauge_pa)):
        return
    assert rated is not None
    assert set_gauge_pa <= rated
    assert all(set_gauge_pa < each for each in opens if each is not None)
