"""What a drink's temperatures do to it: each code its own way, and what nobody read is asked."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kegsafe.rules.codes import code, codes
from kegsafe.rules.cold.excursions import excursions
from kegsafe.rules.cold.fill_effect import effect, shortened_use_by
from kegsafe.rules.cold.history import Counts, Decision, History, Stay
from kegsafe.rules.cold.monitoring import longest_gap_s
from kegsafe.rules.cold.tables import counting
from kegsafe.rules.facts import House
from kegsafe.rules.findings import Outcome, Severity, outcome_of
from kegsafe.rules.limits import LocalLimit

ON = date(2026, 7, 4)
HOUR = 3600
MINUTE = 60


def a_house(key="us_fda_2022", **facts):
    return House(code(key), ZoneInfo("Europe/London"), **facts)


def a_stay(*degrees, from_s=0, place="Cooler", is_chilled=True, limit=500, every=HOUR):
    """Hourly readings in one place, the first and the last at its ends."""
    times = [from_s + k * every for k in range(len(degrees))]
    until_s = times[-1] if times else from_s
    record = excursions(
        times,
        [round(each * 100) for each in degrees],
        limit,
        longest_gap=2 * every,
        start=from_s,
        end=until_s,
    )
    return Stay(place, is_chilled, from_s, until_s, record)


def unread(from_s, until_s, *, is_chilled=True):
    record = excursions([], [], 500, longest_gap=HOUR, start=from_s, end=until_s)
    return Stay("Shelf", is_chilled, from_s, until_s, record)


def history(*stays, from_s=0):
    return History(from_s, max(stay.until_s for stay in stays), stays)


def found(past, house=None, *, is_tcs=True):
    findings = effect(past, house or a_house(), ON, is_tcs=is_tcs)
    return {finding.rule: finding for finding in findings}


def outcome(past, house=None, *, is_tcs=True):
    return outcome_of(effect(past, house or a_house(), ON, is_tcs=is_tcs))


def test_a_drink_always_cold_has_one_note_that_says_for_how_long():
    (only,) = found(history(a_stay(4, 4, 4))).values()
    assert only.severity is Severity.NOTE
    assert "in the 2 h since" in only.statement


def test_less_than_two_hours_above_is_chilled_again_and_recorded():
    findings = found(history(a_stay(4, 6, 4, every=59 * MINUTE)))
    rechill = findings["excursion.rechill_before"]
    assert rechill.severity is Severity.WARN
    assert "1 h 58 min above the limit in all" in rechill.statement
    assert ("warmest", "6 °C (42.8 °F)") in rechill.evidence


def test_two_hours_above_asks_the_manager():
    findings = found(history(a_stay(4, 6, 4)))
    assert findings["excursion.rechill_before"].severity is Severity.ASK


def test_four_hours_above_stops_the_pour():
    assert outcome(history(a_stay(4, 6, 4, 6, 4))) is Outcome.STOP


def test_chilling_again_and_moving_sets_nothing_back():
    warm = a_stay(4, 6, 4)
    cold = a_stay(*[3] * 100, from_s=2 * HOUR, place="Walk-in")
    warm_again = a_stay(4, 6, 4, from_s=101 * HOUR)
    assert outcome(history(warm, cold)) is Outcome.ASK
    assert outcome(history(warm, cold, warm_again)) is Outcome.STOP


@pytest.mark.parametrize(("degc", "stops"), [(21.0, False), (21.01, True)])
def test_above_21_degc_it_is_discarded_whatever_the_time(degc, stops):
    assert ("excursion.ceiling" in found(history(a_stay(4, degc, 4, every=60)))) == stops


def test_hours_nobody_read_are_asked_about_with_their_first_moment():
    past = history(a_stay(4, 4), unread(HOUR, 4 * HOUR), a_stay(4, 4, from_s=4 * HOUR))
    missing = found(past)["excursion.not_known"]
    assert missing.severity is Severity.ASK
    assert "was not read for 3 h" in missing.statement
    assert "Thu 1 Jan 1970, 02:00" in missing.statement


def test_hours_in_no_place_are_asked_about():
    past = history(a_stay(4, 4), a_stay(4, 4, from_s=3 * HOUR))
    assert "For 2 h it is not on record" in found(past)["excursion.no_place"].statement


def test_a_history_that_begins_late_lacks_its_first_hours():
    assert outcome(history(a_stay(4, 4, from_s=HOUR))) is Outcome.ASK


def test_places_that_overlap_do_not_fill_a_hole_twice():
    past = History(0, 4 * HOUR, (a_stay(4, 4, 4), a_stay(4, 4, from_s=HOUR)))
    assert past.unplaced_s == 2 * HOUR


def test_unread_time_in_a_place_that_is_not_cold_counts_as_above():
    past = history(a_stay(4, 4), unread(HOUR, 5 * HOUR, is_chilled=False))
    assert found(past)["excursion.discard_from"].severity is Severity.STOP


def test_a_drink_that_needs_no_temperature_control_is_a_matter_of_quality():
    (only,) = found(history(a_stay(4, 9, 9, 9, 9, 9, 4)), is_tcs=False).values()
    assert (only.rule, only.severity) == ("excursion.quality", Severity.WARN)


def test_missing_hours_are_asked_about_whatever_the_drink():
    assert outcome(history(unread(0, 5 * HOUR)), is_tcs=False) is Outcome.ASK


def test_in_england_a_period_that_goes_on_in_the_next_place_is_one():
    warm, moved = a_stay(4, 9, limit=800), a_stay(9, 4, from_s=HOUR, limit=800)
    past = history(warm, moved)
    assert past.periods == ((0, 2 * HOUR),)
    assert found(past, a_house("england"))["cold_holding.tolerance"].severity is Severity.WARN


def test_in_england_a_period_begun_after_a_good_reading_in_the_next_place_is_a_second():
    back, again = a_stay(9, 4, limit=800), a_stay(4, 9, 4, from_s=HOUR, limit=800)
    assert len(history(back, again).periods) == 2


def test_in_england_two_periods_an_hour_apart_are_two():
    past = history(a_stay(4, 9, 4, 4, 9, 4, limit=800))
    tolerance = found(past, a_house("england"))["cold_holding.tolerance"]
    assert tolerance.severity is Severity.ASK
    assert "2 periods" in tolerance.statement


def test_in_the_us_any_time_above_is_said_to_be_a_breach():
    counted = found(history(a_stay(4, 6, 4)))["excursion.counting"]
    assert counted.severity is Severity.WARN
    assert "any reading above the limit is a breach" in counted.statement
    assert "3-501.16" in counted.source


def test_in_the_union_the_plan_decides_and_the_house_values_stand_in():
    findings = found(history(a_stay(4, 6, 4, 6, 4)), a_house("eu"))
    assert "no number" in findings["excursion.counting"].statement
    assert findings["excursion.discard_from"].severity is Severity.STOP
    assert findings["excursion.discard_from"].verified == "house"


def test_a_venue_may_discard_sooner():
    own = LocalLimit("excursion.discard_from", Decimal(1), "h", date(2026, 1, 1), "", "", None, "A")
    house = a_house(local_limits=(own,))
    assert found(history(a_stay(4, 6, 4)), house)["excursion.discard_from"].verified == "venue"


@pytest.mark.parametrize("key", sorted(codes()))
def test_every_code_on_file_says_how_it_counts(key):
    assert counting(key, ON).words


@pytest.mark.parametrize("key", sorted(codes()))
@given(above=st.integers(1, 23))
def test_no_code_lets_four_hours_above_pass(key, above):
    past = history(a_stay(4, *[8.5] * above, 4))
    if past.above_s >= 4 * HOUR:
        assert outcome(past, a_house(key)) is Outcome.STOP


def test_readings_may_stand_four_hours_apart_and_those_of_a_logger_two_intervals():
    assert longest_gap_s(None, a_house(), ON) == 4 * HOUR
    assert longest_gap_s(300, a_house(), ON) == 600
    with pytest.raises(ValueError, match="interval_s"):
        longest_gap_s(0, a_house(), ON)


@pytest.mark.parametrize("key", sorted(codes()))
def test_every_code_on_file_says_how_long_a_reading_lasts(key):
    assert longest_gap_s(None, a_house(key), ON) == 4 * HOUR


@pytest.mark.parametrize("minutes", [120, 121, 600, 1440])
def test_no_interval_of_a_place_makes_a_reading_last_longer_than_the_rule(minutes):
    assert longest_gap_s(minutes * 60, a_house(), ON) == 4 * HOUR


def a_plan(hours, **approval):
    """How often the venue's own plan says to read."""
    stated = {"authority": "", "reference": "", "approved_on": None, **approval}
    return LocalLimit(
        "cold_holding.reading_lasts", Decimal(hours), "h", date(2026, 1, 1), by="Odile", **stated
    )


def test_a_plan_that_reads_more_often_holds_and_one_that_reads_less_needs_the_authority():
    approved = {"authority": "County", "reference": "P-9", "approved_on": date(2026, 2, 1)}
    for plan, hours in ((a_plan(2), 2), (a_plan(14), 4), (a_plan(14, **approved), 14)):
        assert longest_gap_s(None, a_house(local_limits=(plan,)), ON) == hours * HOUR


NIGHT = 10 * HOUR


def a_night(*decisions, is_chilled=True, before=4, after=4):
    """Read at its beginning and its end, ten hours apart; a day of readings after it."""
    times = [0, *range(NIGHT, NIGHT + 9 * HOUR, HOUR)]
    record = excursions(
        times,
        [before * 100, after * 100, *[400] * 8],
        500,
        longest_gap=4 * HOUR,
        start=0,
        end=times[-1],
    )
    return History(0, times[-1], (Stay("Cooler", is_chilled, 0, times[-1], record, decisions),))


def a_decision(counts, from_s=0, until_s=NIGHT):
    at = datetime(2026, 7, 4, 9, 30, tzinfo=UTC)
    return Decision(from_s, until_s, counts, "Odile", at, "Power was on.", Decimal("3.2"))


def test_a_night_nobody_read_and_nobody_decided_about_is_asked_about():
    assert found(a_night())["excursion.not_known"].severity is Severity.ASK


def test_a_night_that_counts_as_cold_pours_and_says_on_whose_word():
    (counted, *more) = found(a_night(a_decision(Counts.COLD))).values()
    assert (counted.rule, counted.severity, more) == (
        "excursion.counted_as_cold",
        Severity.WARN,
        [],
    )
    assert "Odile looked and counts it as cold: Power was on." in counted.statement
    assert ("drink measured", "3.2 °C (37.76 °F)") in counted.evidence


def test_a_night_that_counts_as_warm_is_added_to_the_time_above():
    discard = found(a_night(a_decision(Counts.WARM)))["excursion.discard_from"]
    assert discard.severity is Severity.STOP
    assert ("of that, not read and counted as warm", "10 h") in discard.evidence


@pytest.mark.parametrize(("hours", "outcome_then"), [(2, Outcome.ASK), (4, Outcome.STOP)])
def test_what_counts_as_warm_is_held_against_the_same_times_as_a_reading(hours, outcome_then):
    warm = a_decision(Counts.WARM, until_s=hours * HOUR)
    cold = a_decision(Counts.COLD, from_s=hours * HOUR)
    assert outcome(a_night(warm, cold)) is outcome_then


def test_a_second_less_than_two_hours_that_count_as_warm_is_chilled_again():
    warm = a_decision(Counts.WARM, until_s=2 * HOUR - 1)
    cold = a_decision(Counts.COLD, from_s=2 * HOUR - 1)
    assert outcome(a_night(warm, cold)) is Outcome.POUR


def test_what_a_manager_holds_is_not_poured_until_somebody_decides_again():
    held = a_decision(Counts.HOLD)
    assert found(a_night(held))["excursion.held"].severity is Severity.STOP
    assert outcome(a_night(held, a_decision(Counts.COLD))) is Outcome.POUR
    assert outcome(a_night(a_decision(Counts.COLD), held)) is Outcome.STOP


def test_a_decision_speaks_only_for_the_time_it_names():
    missing = found(a_night(a_decision(Counts.COLD, until_s=9 * HOUR)))["excursion.not_known"]
    assert ("not read", "1 h") in missing.evidence


@pytest.mark.parametrize("counts", Counts)
def test_no_decision_makes_a_measured_excursion_vanish(counts):
    """The night began warm, so all of it counts as above, whoever says what."""
    assert outcome(a_night(a_decision(counts), before=9)) is Outcome.STOP


def test_no_decision_is_heard_about_a_place_that_is_not_cold():
    past = a_night(a_decision(Counts.COLD), is_chilled=False)
    assert found(past)["excursion.discard_from"].severity is Severity.STOP


def test_the_time_since_the_last_reading_is_asked_about_as_such():
    past = history(a_stay(4, 4), unread(HOUR, 6 * HOUR))
    assert found(past)["cold_holding.old_reading"].severity is Severity.ASK


USE_BY = datetime(2026, 4, 10, 23, 59, 59, tzinfo=ZoneInfo("Europe/London"))


def test_six_hours_at_15_degc_leave_26_9_of_a_week():
    """Worked by hand: 168 h - 100 h at 4 degC - 41.1 h charged = 26.9 h at the end of them."""
    made = USE_BY - timedelta(hours=168)
    now = made + timedelta(hours=106)
    left = shortened_use_by(USE_BY, 35.14).ends_at - now
    assert left / timedelta(hours=1) == pytest.approx(26.9, abs=0.05)


def test_no_warm_hour_changes_no_date():
    assert shortened_use_by(USE_BY, 0.0) is None


@given(st.floats(1e-9, 1e5))
def test_a_date_is_only_ever_shortened(hours):
    assert shortened_use_by(USE_BY, hours).ends_at.astimezone(UTC) < USE_BY.astimezone(UTC)


def test_a_date_is_never_lengthened():
    with pytest.raises(ValueError, match="0 or more"):
        shortened_use_by(USE_BY, -0.1)
