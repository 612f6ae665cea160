"""The demo shows, on any day and at any hour, each answer to 'may I pour this?' and its reasons."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from io import StringIO
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.utils import timezone

from kegsafe.batches import services as batches
from kegsafe.batches.models import Batch, Fill
from kegsafe.batches.queries import behind_batches
from kegsafe.equipment.models import Keg
from kegsafe.pour.queries import KegView, keg_views_named, open_keg_views
from kegsafe.rules.findings import Outcome, Severity
from kegsafe.rules.pour_check import PourVerdict, pour_check
from kegsafe.stock.models import Lot
from kegsafe.venues.models import Venue
from tests.builders import a_recorder
from tests.laid_demo import laid_demo

pytestmark = pytest.mark.django_db

NEW_YORK, LONDON = ZoneInfo("America/New_York"), ZoneInfo("Europe/London")

MOMENTS = {
    "ten past midnight": datetime(2026, 6, 10, 0, 10, tzinfo=NEW_YORK),
    "ten to midnight": datetime(2026, 6, 10, 23, 50, tzinfo=NEW_YORK),
    "noon": datetime(2026, 8, 3, 12, 0, tzinfo=NEW_YORK),
    "the morning the clocks went forward in New York": datetime(2026, 3, 8, 3, 5, tzinfo=NEW_YORK),
    "the hour that comes twice in New York": datetime(2026, 11, 1, 1, 30, fold=1, tzinfo=NEW_YORK),
    "the day after that": datetime(2026, 11, 2, 0, 10, tzinfo=NEW_YORK),
    "the morning the clocks went forward in London": datetime(2026, 3, 29, 2, 5, tzinfo=LONDON),
    "leap day": datetime(2028, 2, 29, 0, 10, tzinfo=NEW_YORK),
    "the last minutes of a year": datetime(2026, 12, 31, 23, 50, tzinfo=NEW_YORK),
    "the first minutes of a year": datetime(2027, 1, 1, 0, 10, tzinfo=NEW_YORK),
}


@dataclass(frozen=True)
class Day:
    """The demo at one moment: what each keg of each bar says."""

    now: datetime
    bar: Venue
    other_bar: Venue
    kegs: Mapping[str, PourVerdict]
    other_kegs: Mapping[str, PourVerdict]


@pytest.fixture(scope="module", params=MOMENTS.values(), ids=MOMENTS.keys())
def day(request, django_db_setup, django_db_blocker) -> Iterator[Day]:
    now = request.param.astimezone(UTC)
    with (
        django_db_blocker.unblock(),
        time_machine.travel(now, tick=False),
        laid_demo(timezone.now()),
    ):
        bar, other_bar = Venue.objects.order_by("pk")
        yield Day(now, bar, other_bar, _verdicts(bar, now), _verdicts(other_bar, now))


def _verdicts(venue: Venue, now: datetime) -> dict[str, PourVerdict]:
    return {view.row["name"]: pour_check(view.facts, now) for view in open_keg_views(venue)}


def _keg(venue: Venue, name: str) -> KegView:
    [view] = keg_views_named(venue, name)
    return view


def _deciding(verdict: PourVerdict) -> set[str]:
    """The rules behind an answer that is not 'pour'."""
    return {
        finding.rule
        for finding in verdict.findings
        if finding.severity in {Severity.STOP, Severity.ASK}
    }


def test_there_is_a_keg_for_each_answer(day):
    assert {verdict.outcome for verdict in day.kegs.values()} == set(Outcome)


def test_there_are_at_least_six_reasons_between_the_kegs(day):
    assert len(set().union(*map(_deciding, day.kegs.values()))) >= 6


@pytest.mark.parametrize("keg", ["K1", "K3", "K6", "K7", "K15"])
def test_these_kegs_pour(day, keg):
    assert day.kegs[keg].outcome is Outcome.POUR


@pytest.mark.parametrize(
    ("keg", "reason"),
    [
        ("K2", "cleaning.before_last_drink"),
        ("K5", "allergens.left_by_last_drink"),
        ("K9", "allergens.not_known"),
        ("K10", "fill.resting"),
        ("K14", "cold_holding.old_reading"),
    ],
)
def test_these_kegs_ask_for_the_manager_for_one_reason_each(day, keg, reason):
    assert (day.kegs[keg].outcome, _deciding(day.kegs[keg])) == (Outcome.ASK, {reason})


@pytest.mark.parametrize(
    ("keg", "reason"),
    [("K4", "use_by.passed"), ("K8", "fill.on_hold"), ("K11", "cold_holding.maximum")],
)
def test_these_kegs_do_not_pour(day, keg, reason):
    assert day.kegs[keg].outcome is Outcome.STOP
    assert day.kegs[keg].findings[0].rule == reason


def test_the_fridge_that_warmed_for_hours_stops_its_keg_by_its_history_too(day):
    assert "excursion.discard_from" in _deciding(day.kegs["K11"])


def test_a_night_that_a_logger_slept_through_stands_on_the_managers_word(day):
    [counted] = [
        each for each in day.kegs["K1"].findings if each.rule == "excursion.counted_as_cold"
    ]
    assert counted.statement.startswith("Tap cooler was not read for 8 h 45 min")
    assert "manager looked and counts it as cold" in counted.statement


def test_the_highball_comes_from_an_infusion_in_a_syrup_in_a_cordial(day):
    batch = Batch.objects.get(fills__keg__name="K1", venue=day.bar)
    behind = Lot.objects.filter(pk__in=behind_batches([batch.pk])[batch.pk].lots)
    made = behind.filter(ingredient__made_in_house=True)
    assert [lot.ingredient.name for lot in made.order_by("came_into_being_at")] == [
        "Ginger infusion",
        "Ginger syrup",
        "Ginger cordial",
    ]
    assert not batch.draws.filter(lot__ingredient__name="Ginger infusion").exists()


def test_the_date_of_the_infusion_binds_the_highball_though_its_house_rule_is_longer(day):
    [binding] = [each for each in day.kegs["K1"].findings if "This date binds." in each.statement]
    assert binding.statement.startswith("Ginger infusion")


def test_the_codes_days_bind_the_melon_drink_and_say_why_the_house_rule_does_not(day):
    verdict = day.kegs["K3"]
    [longer] = [each for each in verdict.findings if each.rule == "date_marking.longer_rule"]
    assert "14 days outlasts the code's 7 days and does not count" in longer.statement
    mixed_on = _keg(day.bar, "K3").facts.fill.drink.made_at.astimezone(NEW_YORK).date()
    assert (verdict.use_by.astimezone(NEW_YORK).date() - mixed_on).days == 6


def test_the_same_melon_drink_of_the_same_age_pours_under_the_other_code(day):
    assert day.kegs["K4"].outcome is Outcome.STOP
    assert day.other_kegs["H2"].outcome is Outcome.POUR


def test_two_spritzes_on_either_side_of_the_threshold_declare_differently(day):
    amounts = {
        name: _keg(day.bar, name).facts.fill.total_so2_mg_per_l for name in ("K6", "K7", "K14")
    }
    assert amounts == {"K6": Decimal("9.69"), "K7": Decimal("10.00"), "K14": Decimal("10.00")}
    declared = {name: _contains(day.kegs[name]) for name in amounts}
    assert declared == {"K6": [], "K7": ["Sulfites"], "K14": ["Sulfites"]}


def test_at_ten_milligrams_the_other_code_declares_no_sulphite(day):
    assert _keg(day.other_bar, "H1").facts.fill.total_so2_mg_per_l == Decimal("10.00")
    assert _contains(day.other_kegs["H1"]) == []


def _contains(verdict: PourVerdict) -> list[str]:
    return [declared.display_name for declared in verdict.declaration.contains]


def test_the_nut_drink_declares_almond_and_the_next_drink_in_its_keg_may_contain_it(day):
    assert _contains(day.kegs["K15"]) == ["Almond (tree nut)"]
    [after] = day.kegs["K5"].declaration.may_contain
    assert after.source == "almond"


def test_a_keg_without_a_rating_cannot_be_filled(day):
    with pytest.raises(ValidationError, match="No rated pressure is on record for Keg K12"):
        batches.fill_keg(
            batch=Batch.objects.get(fills__keg__name="K10", venue=day.bar),
            keg=Keg.objects.get(venue=day.bar, name="K12"),
            filled_at=day.now,
            volume_ml=Decimal(1000),
            liquid_temperature_degc=Decimal(3),
            set_gauge_pa=Decimal(200_000),
            by=a_recorder(day.bar),
        )


def test_a_clean_empty_keg_is_left_to_fill(day):
    assert _keg(day.bar, "K13").facts.fill is None
    assert not Fill.objects.filter(keg__name="K13", state__in=Fill.OPEN_STATES).exists()


def test_the_ledger_holds_every_record(day):
    said = StringIO()
    call_command("verify_ledger", stdout=said)
    assert "Every record says what its last entry says." in said.getvalue()
