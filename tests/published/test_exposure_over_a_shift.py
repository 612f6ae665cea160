"""What somebody breathes over a shift, against the limits for eight hours and a quarter.

The mean weighted by time: 29 CFR 1910.1000(d)(1)(i). [memory] Limits: OSHA PEL 5000 ppm [read],
NIOSH STEL 30000 [read], UK EH40 5000 and 15000 [second-hand], TRGS 900 5000 and, over 15 minutes,
10000 [read]. Worked case 24 and the numbers of the edges are sums anybody can make; the clearing
room was integrated by hand.
"""

import pytest

from kegsafe.rules.pressure.room import RoomFacts, judge_room
from kegsafe.rules.pressure.shift import judge_shift, shift_while_clearing
from kegsafe.science.exposure import Spell, mean_while_clearing_ppm, time_weighted_average_ppm
from kegsafe.science.ranges import OutsideRange

TWO_HOURS_STRONG = (Spell(12_000.0, 2.0), Spell(2_000.0, 6.0))


def rules(shift):
    return [finding.rule for finding in shift.findings]


def test_two_hours_strong_and_six_weak_are_4500_ppm():
    """Worked case 24."""
    assert time_weighted_average_ppm(TWO_HOURS_STRONG) == 4500.0


@pytest.mark.parametrize(
    ("regime", "passed"),
    [
        ("Germany", ["shift.above_short"]),  # 12000 is above 10000
        ("", ["shift.above_short"]),  # no code chosen: the strictest
        ("UK", []),  # 12000 is below 15000
        ("US", []),  # 12000 is below 30000
    ],
)
def test_below_the_limit_of_the_shift_it_can_be_above_that_of_a_quarter_hour(regime, passed):
    """Worked case 24."""
    shift = judge_shift(TWO_HOURS_STRONG, regime)
    assert (shift.eight_hour_mean_ppm, rules(shift)) == (4500.0, passed)


@pytest.mark.parametrize(("ppm", "is_above"), [(4999.0, False), (5000.0, False), (5001.0, True)])
def test_the_limit_of_the_shift_at_its_edge(ppm, is_above):
    found = rules(judge_shift([Spell(ppm, 8.0)], "US"))
    assert ("shift.above_long" in found) is is_above


@pytest.mark.parametrize(
    ("minutes", "is_above"), [(14.0, False), (15.0, True), (16.0, True)], ids=str
)
def test_a_short_limit_counts_spells_of_a_quarter_of_an_hour(minutes, is_above):
    shift = judge_shift([Spell(31_000.0, minutes / 60.0)], "US")
    assert ("shift.above_short" in rules(shift)) is is_above


def test_the_hours_off_count_as_clean_and_a_longer_shift_weighs_more():
    assert time_weighted_average_ppm([Spell(8_000.0, 4.0)]) == 4000.0
    assert time_weighted_average_ppm([Spell(5_000.0, 10.0)]) == 6250.0


@pytest.mark.parametrize(("ppm", "hours"), [(-1.0, 1.0), (1_000_001.0, 1.0), (5.0, 0.0), (5.0, 25)])
def test_a_spell_that_cannot_be_is_refused(ppm, hours):
    with pytest.raises(OutsideRange):
        Spell(ppm, hours)


def test_the_mean_of_a_clearing_room():
    """By hand: 400 + 49600 (1 - e^-3) / 3 = 16110 for half an hour at 6 air changes."""
    assert mean_while_clearing_ppm(50_000.0, 6.0, 0.0, 0.5) == pytest.approx(16_110, abs=1)


def test_a_shift_in_a_clearing_room_is_its_quarter_and_its_rest():
    """By hand, 50000 ppm at 6 changes: 400 + 49600 (1 - e^-48) / 48 = 1433 over eight hours;
    400 + 49600 (1 - e^-1.5) / 1.5 = 26089 in the first quarter."""
    shift = shift_while_clearing(50_000.0, 6.0, "UK")
    assert shift.eight_hour_mean_ppm == pytest.approx(1433.3, abs=0.1)
    assert shift.worst_quarter_ppm == pytest.approx(26_088.6, abs=1)
    assert rules(shift) == ["shift.above_short"]


def test_a_room_tells_the_shift_only_where_it_knows_how_it_clears():
    cellar = RoomFacts("Cellar", 40.0, 2.0, is_below_ground=False, charges_kg=(10.0,))
    unaired = RoomFacts("Cellar", 40.0, None, is_below_ground=False, charges_kg=(10.0,))
    # 136660 ppm at 2 changes: 400 + 136260 (1 - e^-16) / 16 = 8916. By hand.
    assert judge_room(cellar, "US").shift.eight_hour_mean_ppm == pytest.approx(8916, abs=5)
    assert judge_room(unaired, "US").shift is None
