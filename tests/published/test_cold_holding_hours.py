"""Hours above a limit, cooling and holding by time, against rule texts and worked cases.

Sources
- 3-501.16: FDA Food Code, as adopted by Wisconsin (ATCP 75 appendix): 5 °C or less. [read]
- 3-501.14: the same: 57 to 21 °C in 2 h, to 5 °C in 6 h in all; 4 h from room temperature. [read]
- 3-501.19: the same: 4 h, or 6 h never above 21 °C, from removal. [read] The start at 21 °C for
  food from a sealed container is new in 2022. [second-hand]
- Schedule 4: SI 2013/2996 Schedule 4 para 5, read in the Northern Ireland text (SR 2006/3): one
  period of less than 4 h above 8 °C, for service or display. [read]
- FSANZ: guidance on the 2 hour / 4 hour rule: all periods above 5 °C are added up; under 2 h
  chill again, under 4 h use, then discard. [second-hand]
- 4-203.11: FDA Food Code, as adopted by California (HSC 114159): 1 °C either way. [read]
- Steps: counting a whole step as above when either reading is, a house convention; the
  straight-line value beside it is computed by hand. [house]
"""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from kegsafe.rules.codes import code
from kegsafe.rules.cold.cooling import (
    CoolingReading,
    Procedure,
    Progress,
    cooling_verdict,
)
from kegsafe.rules.cold.excursions import excursions
from kegsafe.rules.cold.fill_effect import effect
from kegsafe.rules.cold.history import History, Stay
from kegsafe.rules.cold.temperature_log import limit_centi_degc, reading_centi_degc
from kegsafe.rules.cold.time_control import Option, time_control_verdict
from kegsafe.rules.facts import House
from kegsafe.rules.findings import Severity

ON = date(2026, 7, 4)
UTC_ZONE, NEW_YORK = ZoneInfo("UTC"), ZoneInfo("America/New_York")
NOON = datetime(2026, 7, 4, 12, 0, tzinfo=UTC)
US, ENGLAND, AUSTRALIA = (House(code(key), UTC_ZONE) for key in ("us_fda_2022", "england", "anz"))
MINUTE = 60


def log(minutes, degrees, limit, accuracy="0"):
    return excursions(
        [minute * MINUTE for minute in minutes],
        [reading_centi_degc(Decimal(each)) for each in degrees],
        limit_centi_degc(Decimal(limit)),
        longest_gap=60 * MINUTE,
        accuracy=reading_centi_degc(Decimal(accuracy)),
    )


def severities(house, *periods_min, limit="5.0"):
    """Judge a drink that stood above its limit for some periods, each with good hours around."""
    minutes, degrees, at = [0], ["3.0"], 0
    for period in periods_min:
        edges = (at + 30, at + 30 + period // 2, at + 30 + period)
        minutes += edges
        degrees += ["3.0", "9.0", "3.0"]
        at = edges[-1]
    record = excursions(
        [minute * MINUTE for minute in minutes],
        [reading_centi_degc(Decimal(each)) for each in degrees],
        limit_centi_degc(Decimal(limit)),
        longest_gap=240 * MINUTE,
    )
    assert record.above_s == sum(periods_min) * MINUTE
    until = minutes[-1] * MINUTE
    stay = Stay("Cooler", True, 0, until, record)
    findings = effect(History(0, until, (stay,)), house, ON, is_tcs=True)
    return {finding.rule: finding.severity for finding in findings}


# 3-501.19: time in place of temperature


def held_by_time(option, removed_at, start, *, read=(), now=None, house=US, on=ON):
    return time_control_verdict(
        option=option,
        removed_at=removed_at,
        start_degc=Decimal(start),
        read_since_degc=[Decimal(each) for each in read],
        has_written_procedure=True,
        house=house,
        on=on,
        now=now or removed_at,
    )


def test_h01_3_501_19_b_removed_at_18_00_is_marked_and_discarded_at_22_00():
    removed = datetime(2026, 7, 4, 18, 0, tzinfo=NEW_YORK)
    marked = removed.replace(hour=22)
    assert held_by_time(Option.FOUR_HOURS, removed, "4.0").discard_at == marked
    (late,) = held_by_time(Option.FOUR_HOURS, removed, "4.0", now=marked).findings
    assert late.severity is Severity.STOP


def test_h02_3_501_19_b_food_removed_at_6_degc_may_not_be_held_by_time():
    verdict = held_by_time(Option.FOUR_HOURS, NOON, "6.0")
    assert verdict.discard_at is None
    assert verdict.findings[0].severity is Severity.STOP


def test_h03_3_501_19_b_of_2022_an_opened_can_may_start_at_20_degc():
    verdict = held_by_time(Option.FOUR_HOURS_OPENED, NOON, "20.0")
    assert verdict.discard_at == NOON + timedelta(hours=4)


def test_h03_before_the_edition_of_2022_that_option_is_not_open():
    verdict = held_by_time(Option.FOUR_HOURS_OPENED, NOON, "20.0", on=date(2022, 12, 31))
    assert verdict.discard_at is None


@pytest.mark.parametrize(
    ("read", "severity"),
    [
        pytest.param("21.0", Severity.NOTE, id="H04"),
        pytest.param("21.1", Severity.STOP, id="H05"),
    ],
)
def test_3_501_19_c_six_hours_end_above_21_degc(read, severity):
    now = NOON + timedelta(hours=3)
    (finding,) = held_by_time(Option.SIX_HOURS, NOON, "4.0", read=(read,), now=now).findings
    assert finding.severity is severity


# H06 to H09, four elapsed hours over a change of the clocks, stand in test_date_marking.py.


# 3-501.14: cooling


def cooled(procedure, *readings, now):
    """Readings as ("12:00", "57"), all of one day."""

    def at(clock):
        hour, minute = clock.split(":")
        return NOON.replace(hour=int(hour), minute=int(minute))

    taken = [CoolingReading(at(clock), Decimal(degc)) for clock, degc in readings]
    return cooling_verdict(taken, procedure, US, ON, at(now))


def test_h10_3_501_14_in_1_h_50_and_5_h_50_both_stages_hold():
    verdict = cooled(Procedure.HOT, ("12:00", "57"), ("13:50", "21"), ("17:50", "5"), now="18:00")
    assert verdict.is_done
    assert "after 1 h 50 min" in verdict.findings[0].statement
    assert "after 5 h 50 min" in verdict.findings[1].statement


def test_h11_3_501_14_at_21_degc_after_2_h_10_the_first_stage_failed_at_14_00():
    verdict = cooled(Procedure.HOT, ("12:00", "57"), ("14:10", "21"), now="14:10")
    assert verdict.stages[0].progress is Progress.LATE
    assert "by 14:00" in verdict.findings[0].statement


def test_h12_3_501_14_at_5_degc_after_6_h_1_the_total_failed():
    verdict = cooled(Procedure.HOT, ("12:00", "57"), ("13:00", "21"), ("18:01", "5"), now="18:01")
    assert [each.progress for each in verdict.stages] == [Progress.REACHED, Progress.LATE]


def test_h13_3_501_14_b_from_room_temperature_in_four_hours():
    assert cooled(Procedure.AMBIENT, ("12:00", "22"), ("16:00", "5"), now="16:00").is_done


# Schedule 4: one period of less than four hours above 8 °C


def test_h14_schedule_4_a_first_period_of_239_minutes_is_within_the_defence():
    found = severities(ENGLAND, 239, limit="8.0")
    assert found["cold_holding.tolerance"] is Severity.WARN


def test_h15_schedule_4_a_first_period_of_240_minutes_is_not():
    found = severities(ENGLAND, 240, limit="8.0")
    assert found["cold_holding.tolerance"] is Severity.STOP


def test_h16_schedule_4_a_second_period_of_ten_minutes_is_not_covered():
    found = severities(ENGLAND, 30, 10, limit="8.0")
    assert found["cold_holding.tolerance"] is Severity.ASK


# FSANZ: two hours and four hours, added up


@pytest.mark.parametrize(
    ("periods", "rule", "severity"),
    [
        pytest.param((50, 60), "excursion.rechill_before", Severity.WARN, id="H17 chill again"),
        pytest.param((50, 80), "excursion.rechill_before", Severity.ASK, id="H18 use now"),
        pytest.param((120, 120), "excursion.discard_from", Severity.STOP, id="H19 discard"),
        pytest.param((119, 120), "excursion.rechill_before", Severity.ASK, id="a minute less"),
    ],
)
def test_fsanz_all_periods_above_5_degc_are_added_up(periods, rule, severity):
    assert severities(AUSTRALIA, *periods)[rule] is severity


# Steps and limits


def test_h20_steps_beside_a_warm_reading_count_whole():
    record = log(range(0, 181, 30), ("4.0", "4.5", "6.5", "7.0", "6.0", "4.8", "4.2"), "5.0")
    assert record.above_s == 120 * MINUTE
    assert record.excursions[0].line_s / MINUTE == pytest.approx(107.5)


def test_h21_a_sparse_log_loses_the_defence_of_schedule_4():
    record = log(range(0, 241, 60), ("7.5", "9.0", "9.5", "8.5", "7.8"), "8.0")
    assert record.above_s == 240 * MINUTE
    assert record.excursions[0].line_s / MINUTE == pytest.approx(202.9, abs=0.05)
    stay = Stay("Cellar", True, 0, 240 * MINUTE, record)
    findings = effect(History(0, 240 * MINUTE, (stay,)), ENGLAND, ON, is_tcs=True)
    assert [f.severity for f in findings if f.rule == "cold_holding.tolerance"] == [Severity.STOP]


def test_h22_a_reading_plus_the_accuracy_of_its_probe_is_held_against_the_limit():
    assert log((0,), ("4.6",), "5.0", accuracy="0.5").excursions != ()


@pytest.mark.parametrize(
    ("degc", "breaches"),
    [
        pytest.param("5.0", 0, id="H23"),
        pytest.param("5.1", 1, id="H24"),
        pytest.param("5.04", 1, id="41.07 °F"),
    ],
)
def test_3_501_16_five_degc_or_less(degc, breaches):
    assert len(log((0,), (degc,), "5.0").excursions) == breaches
