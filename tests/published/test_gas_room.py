"""A room when its largest cylinder empties, and the limits of exposure.

OSHA PEL 5000 ppm, 29 CFR 1910.1000 Table Z-1 [read]; NIOSH STEL 30000 and IDLH 40000 [read]; UK
EH40 5000 and 15000 [second-hand]; TRGS 900 5000 and, 15 minutes, 10000 [read]; DIN 6653-2 alarms
15000 and 30000 [read]; IFC 2018 5307 alarms 5000 and 30000, mass 100 lb [second-hand]; DGUV Regel
110-007 5.2.1: 30000 in a fault [read]. Concentrations: ideal gas at 20 degC and 1 atm, computed
apart from this program.
"""

import pytest

from kegsafe.rules.findings import Severity
from kegsafe.rules.pressure.exposure import Role, exposure_limit
from kegsafe.rules.pressure.room import Monitor, RoomFacts, judge_room


def a_room(volume_m3=40.0, *charges, **facts):
    stated = {"air_changes_per_h": 2.0, "is_below_ground": False, **facts}
    return RoomFacts("Cellar", volume_m3, charges_kg=charges or (10.0,), **stated)


def rules(verdict):
    return [finding.rule for finding in verdict.findings]


def said(verdict):
    return " ".join(finding.statement for finding in verdict.findings)


@pytest.mark.parametrize(
    ("role", "regime", "ppm", "is_own"),
    [
        (Role.LONG, "US", 5000, True),
        (Role.SHORT, "US", 30000, True),
        (Role.IMMEDIATE, "US", 40000, True),
        (Role.LONG, "UK", 5000, True),
        (Role.SHORT, "UK", 15000, True),
        (Role.IMMEDIATE, "UK", 40000, False),
        (Role.LONG, "EU", 5000, True),
        (Role.SHORT, "EU", 10000, False),
        (Role.SHORT, "Australia", 10000, False),
        (Role.SHORT, "", 10000, False),
        (Role.FIRST_ALARM, "US", 5000, True),
        (Role.MAIN_ALARM, "US", 30000, True),
        (Role.FIRST_ALARM, "", 5000, False),
    ],
)
def test_the_limit_is_the_regimes_own_or_the_strictest_of_all(role, regime, ppm, is_own):
    limit = exposure_limit(role, regime)
    assert (limit.ppm, limit.is_own) == (ppm, is_own)


def test_each_limit_names_its_document():
    assert "1910.1000 Table Z-1" in exposure_limit(Role.LONG, "US").citation


def test_ten_kilograms_in_a_cellar_of_forty_cubic_metres_are_deadly():
    """Worked case 18: 13.67 %."""
    verdict = judge_room(a_room(40.0, 10.0), "US")
    assert verdict.release.screening_ppm == pytest.approx(136_700, abs=500)
    assert verdict.findings[0].severity is Severity.STOP
    assert "Dangerous to life at once" in verdict.findings[0].statement


def test_a_room_of_fifty_cubic_metres():
    """Worked case 17: 3.471 m3; 6.94 % screening, 6.71 % displaced, 19.50 % of oxygen left."""
    release = judge_room(a_room(50.0, 6.35), "US").release
    assert release.gas_m3 == pytest.approx(3.471, abs=0.02)
    assert release.screening_ppm == pytest.approx(69_400, abs=200)
    assert release.mixed_ppm == pytest.approx(67_100, abs=200)
    assert release.oxygen_percent == pytest.approx(19.50, abs=0.02)


@pytest.mark.parametrize(
    ("volume_m3", "passed"),
    [
        # 10 kg make 5.466 m3 at 20 degC: 0.5 % of 1093 m3, 3 % of 182 m3, 4 % of 136.6 m3.
        (1100.0, set()),
        (1085.0, {"long"}),
        (184.0, {"long"}),
        (181.0, {"long", "short"}),
        (138.0, {"long", "short"}),
        (136.0, {"long", "short", "immediate"}),
    ],
)
def test_a_room_is_too_small_from_each_limit_on(volume_m3, passed):
    found = rules(judge_room(a_room(volume_m3, 10.0), "US"))
    assert {rule for rule in found if rule.startswith("room.above")} == {
        f"room.above_{limit}" for limit in passed
    }


def test_the_largest_cylinder_decides_and_not_the_sum():
    assert judge_room(a_room(50.0, 6.35, 2.27), "US").largest_kg == 6.35


def test_below_every_limit_nothing_is_said_in_the_rooms_favour():
    verdict = judge_room(a_room(5000.0, 2.0), "US")
    assert "proves nothing" in said(verdict)
    assert "safe" not in said(verdict).lower()


def test_the_time_to_fall_is_that_of_a_mixed_room():
    """From 13.7 % to 0.5 % at 2 air changes an hour: 101.7 minutes. [computed]"""
    verdict = judge_room(a_room(40.0, 10.0, air_changes_per_h=2.0), "US")
    assert verdict.hours_to_long_limit * 60 == pytest.approx(101.7, abs=0.3)


@pytest.mark.parametrize(
    ("charges", "asks"), [((9.07, 9.07), False), ((45.4,), False), ((45.5,), True)]
)
def test_the_mass_of_the_fire_code(charges, asks):
    """Worked case 16: two of 20 lb are 18.1 kg, below 45.4 kg (100 lb)."""
    found = rules(judge_room(a_room(5000.0, *charges), "US"))
    assert ("room.us_co2_mass" in found) is asks


@pytest.mark.parametrize(("is_below", "asks"), [(True, True), (None, True), (False, False)])
def test_a_basement_is_asked_about_at_any_amount(is_below, asks):
    """Worked case 16."""
    found = rules(judge_room(a_room(is_below_ground=is_below), "US"))
    assert ("room.below_grade" in found) is asks


@pytest.mark.parametrize(
    ("facts", "rule"),
    [
        ({"volume_m3": None}, "room.no_volume"),
        ({"air_changes_per_h": None}, "room.no_ventilation"),
        ({"charges_kg": (10.0, None)}, "room.no_charge"),
        ({"charges_kg": ()}, "room.no_cylinder"),
    ],
)
def test_what_is_not_on_record_is_asked_for(facts, rule):
    known = {
        "volume_m3": 40.0,
        "air_changes_per_h": 2.0,
        "is_below_ground": False,
        "charges_kg": (10.0,),
    }
    verdict = judge_room(RoomFacts("Cellar", **{**known, **facts}), "US")
    assert rule in rules(verdict)


def test_a_room_with_an_unknown_charge_has_no_figure():
    assert judge_room(a_room(40.0, 10.0, None), "US").release is None


@pytest.mark.parametrize(
    ("first", "main", "late"),
    [
        (5000, 30000, set()),
        (5001, 30000, {"room.first_alarm_late"}),
        (5000, 30001, {"room.main_alarm_late"}),
        (None, 30000, {"room.alarm_not_known"}),
    ],
)
def test_an_alarm_sounds_no_later_than_the_code_says(first, main, late):
    monitor = Monitor("M1", in_use=True, first_alarm_ppm=first, main_alarm_ppm=main)
    found = rules(judge_room(a_room(monitors=(monitor,)), "US"))
    assert {rule for rule in found if "alarm" in rule} == late


def test_a_monitor_that_is_out_of_service_watches_nothing():
    monitor = Monitor("M1", in_use=False, first_alarm_ppm=5000, main_alarm_ppm=30000)
    assert "room.no_monitor" in rules(judge_room(a_room(monitors=(monitor,)), "US"))


@pytest.mark.parametrize(("volume_m3", "asks"), [(183.0, False), (182.0, True)])
def test_three_percent_in_a_fault_of_german_practice(volume_m3, asks):
    found = rules(judge_room(a_room(volume_m3, 10.0), "EU"))
    assert ("room.germany_fault_ppm" in found) is asks
