"""No accepted set pressure exceeds a rating or a relief setting downstream, whatever is built."""

from dataclasses import replace
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from kegsafe.rules.findings import Severity
from kegsafe.rules.pressure.gas_system import (
    GasSystem,
    Part,
    ceiling,
    keg_findings,
    set_pressure_findings,
)

KINDS = ("regulator", "manifold", "hose", "check_valve", "relief_valve", "keg")
PRESSURES = st.integers(1, 3_000_000).map(Decimal)


@st.composite
def gas_systems(draw):
    """A regulator at the root, and up to fourteen parts each fed by an earlier one; loops too."""
    count = draw(st.integers(1, 14))
    root = Part("0", "0", "regulator", draw(PRESSURES), draw(st.none() | PRESSURES))
    parts, feeds = {"0": root}, {}
    for number in range(1, count + 1):
        kind, key = draw(st.sampled_from(KINDS)), str(number)
        rated = draw(st.one_of(PRESSURES, PRESSURES, PRESSURES, st.none()))
        has_relief = kind == "relief_valve" or (kind == "regulator" and draw(st.booleans()))
        parts[key] = Part(
            key,
            key,
            kind,
            rated,
            draw(PRESSURES) if has_relief else None,
            in_use=draw(st.integers(0, 9)) > 0,
        )
        source = str(draw(st.integers(0, number - 1)))
        feeds[source] = (*feeds.get(source, ()), key)
    if draw(st.booleans()):
        feeds[str(count)] = (*feeds.get(str(count), ()), "0")
    return GasSystem(parts, feeds)


def _reached(system, key):
    """Everything behind a part, found another way: by passing along edges until nothing is new."""
    found = {key}
    while True:
        more = {each for source in found for each in system.feeds.get(source, ())} - found
        if not more:
            return [system.parts[each] for each in found]
        found |= more


@given(gas_systems(), PRESSURES)
def test_no_accepted_pressure_exceeds_a_rating_or_a_relief_setting(system, set_gauge_pa):
    if set_pressure_findings(system, "0", set_gauge_pa):
        return
    behind = _reached(system, "0")
    assert all(part.rated_gauge_pa is not None for part in behind if part.kind != "relief_valve")
    assert all(set_gauge_pa <= part.rated_gauge_pa for part in behind if part.rated_gauge_pa)
    assert all(set_gauge_pa <= part.relief_gauge_pa for part in behind if part.relief_gauge_pa)
    assert any(part.relief_gauge_pa for part in behind)
    assert all(part.in_use for part in behind)


@given(gas_systems())
def test_the_ceiling_itself_is_accepted_and_a_pascal_more_is_not(system):
    highest = ceiling(system, "0")
    if highest.gauge_pa is None:
        assert highest.findings
        return
    assert set_pressure_findings(system, "0", highest.gauge_pa) == ()
    assert set_pressure_findings(system, "0", highest.gauge_pa + 1)


@given(gas_systems())
def test_a_refusal_always_says_why(system):
    highest = ceiling(system, "0")
    assert all(finding.statement for finding in highest.findings)
    assert highest.findings


@given(gas_systems(), PRESSURES, st.data())
def test_no_keg_pours_freely_on_gas_set_above_what_something_on_it_bears(
    system, set_gauge_pa, data
):
    """Ratings were corrected after the regulator was set: the record holds what it holds."""
    kegs = [part.key for part in _reached(system, "0") if part.kind == "keg"]
    if not kegs:
        return
    keg = data.draw(st.sampled_from(kegs))
    root = replace(system.parts["0"], set_gauge_pa=set_gauge_pa)
    system = GasSystem({**system.parts, "0": root}, system.feeds)
    found = list(keg_findings(system, "0", keg))
    behind = _reached(system, "0")
    too_low = [
        part
        for part in behind
        if (part.rated_gauge_pa is not None and part.rated_gauge_pa < set_gauge_pa)
        or (part.relief_gauge_pa is not None and part.relief_gauge_pa < set_gauge_pa)
        or (part.kind != "relief_valve" and part.rated_gauge_pa is None)
        or (part.kind == "relief_valve" and part.relief_gauge_pa is None)
    ]
    if too_low:
        assert found
    others = [each for each in kegs if each != keg]
    elsewhere = {part.key for each in others for part in _reached(system, each)}
    elsewhere -= {"0", keg}
    if any(part.key not in elsewhere for part in too_low):
        assert any(each.severity is Severity.STOP for each in found)
    if all(part.in_use for part in behind):
        assert bool(found) == bool(set_pressure_findings(system, "0", set_gauge_pa))
