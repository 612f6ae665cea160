"""A cooling is judged on what was read: a temperature nobody read was not reached."""

from datetime import date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from kegsafe.rules.codes import code, codes
from kegsafe.rules.cold.cooling import (
    CoolingReading,
    Procedure,
    Progress,
    cooling_verdict,
)
from kegsafe.rules.facts import House
from kegsafe.rules.findings import Severity

ZONE = ZoneInfo("Europe/London")
NOON = datetime(2026, 7, 4, 12, 0, tzinfo=ZONE)


def verdict(*readings, now_min, key="us_fda_2022", procedure=Procedure.HOT):
    """Readings as (minutes after noon, degC)."""
    taken = [
        CoolingReading(NOON + timedelta(minutes=minute), Decimal(degc)) for minute, degc in readings
    ]
    house = House(code(key), ZONE)
    now = NOON + timedelta(minutes=now_min)
    return cooling_verdict(taken, procedure, house, date(2026, 7, 4), now)


def test_a_cooling_with_no_reading_is_asked_about():
    nothing = verdict(now_min=0)
    assert nothing.started_at is None
    assert not nothing.is_done
    assert nothing.findings[0].severity is Severity.ASK


def test_a_running_cooling_says_when_each_stage_is_due():
    running = verdict((0, "57"), now_min=60)
    assert [each.progress for each in running.stages] == [Progress.RUNNING] * 2
    assert "due 14:00" in running.findings[0].statement
    assert "due 18:00" in running.findings[1].statement


@pytest.mark.parametrize(("now_min", "has_failed"), [(120, False), (121, True)])
def test_a_stage_nobody_read_is_late_a_minute_after_its_hour(now_min, has_failed):
    assert verdict((0, "57"), now_min=now_min).has_failed == has_failed


@pytest.mark.parametrize(("minute", "progress"), [(120, "reached"), (121, "late")])
def test_the_last_minute_counts(minute, progress):
    assert verdict((0, "57"), (minute, "21"), now_min=minute).stages[0].progress == progress


def test_a_fast_first_stage_leaves_the_second_the_rest_of_six_hours():
    assert verdict((0, "57"), (30, "21"), (360, "5"), now_min=360).is_done


def test_in_australia_the_second_stage_has_four_hours_of_its_own():
    late = verdict((0, "60"), (30, "21"), (271, "5"), now_min=271, key="anz")
    assert late.stages[1].progress is Progress.LATE
    assert verdict((0, "60"), (120, "21"), (360, "5"), now_min=360, key="anz").is_done


def test_in_australia_the_second_clock_waits_for_the_first_stage():
    waiting = verdict((0, "60"), now_min=10, key="anz")
    assert waiting.stages[1].deadline is None
    assert "not yet set" in waiting.findings[1].statement


def test_the_clock_starts_with_the_last_reading_that_was_still_hot():
    assert verdict((0, "95"), (20, "60"), (40, "50"), now_min=40).started_at == NOON + timedelta(
        minutes=20
    )


def test_food_first_read_below_57_degc_starts_its_clock_at_once():
    assert verdict((0, "50"), (121, "21"), now_min=121).has_failed


def test_readings_still_to_come_are_left_out():
    assert not verdict((0, "57"), (60, "21"), now_min=30).stages[0].reached_at


def test_order_of_entry_does_not_matter():
    assert verdict((360, "5"), (0, "57"), (110, "21"), now_min=360).is_done


@pytest.mark.parametrize("key", sorted(codes()))
@pytest.mark.parametrize("procedure", list(Procedure))
def test_every_code_on_file_has_both_procedures(key, procedure):
    first = "60" if procedure is Procedure.HOT else "22"
    done = verdict((0, first), (110, "21"), (230, "5"), now_min=230, key=key, procedure=procedure)
    assert done.is_done
