"""What the records say, as the self-check reads it: from rooms with nothing in them to the demo."""

from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from kegsafe.batches.models import KegShelfLife
from kegsafe.batches.services import add_keg_shelf_life, hold_fill
from kegsafe.cleaning.models import CorrectiveAction
from kegsafe.cleaning.services import (
    close_cycle,
    record_corrective_action,
    verify_corrective_action,
)
from kegsafe.cold_chain import services as cold_chain
from kegsafe.readiness.days_read import places_read
from kegsafe.readiness.queries import gaps
from kegsafe.readiness.services import walk_chain
from kegsafe.rules.readiness_clauses import Weight
from kegsafe.stock.services import hold_lot, state_allergen
from kegsafe.venues.models import Venue
from tests.builders import (
    a_batch,
    a_fill,
    a_keg,
    a_line,
    a_lot,
    a_place,
    a_preparation,
    a_recipe,
    a_recorder,
    a_venue,
    an_ingredient,
)
from tests.cleaning.cycle_acts import Cleaner, a_cleaner, a_plan
from tests.laid_demo import laid_demo

pytestmark = pytest.mark.django_db

MOST_QUERIES = 50


@pytest.fixture
def venue():
    return a_venue(time_zone="America/New_York")


def named(venue: Venue, rule: str, now: datetime | None = None) -> list[str]:
    """Return the names of what a gap is about, none where the gap is not there."""
    found = {gap.rule: gap for gap in gaps(venue, now or timezone.now())}
    return [item.name for item in found[rule].items] if rule in found else []


def rules(venue: Venue, now: datetime | None = None) -> set[str]:
    return {gap.rule for gap in gaps(venue, now or timezone.now())}


def test_an_empty_venue_lacks_a_cleaning_plan_and_a_verified_ledger(venue):
    assert rules(venue) == {"cleaning.no_plan", "ledger.not_verified"}


def test_another_bars_records_are_not_looked_at(venue):
    other = a_venue(name="The Other Finch")
    a_lot(other)
    an_ingredient(other, allergen_list_basis="")
    assert rules(venue) == {"cleaning.no_plan", "ledger.not_verified"}


# Stock


def test_a_lot_without_the_number_of_a_delivery_note_is_named_while_any_of_it_is_left(venue):
    lot = a_lot(venue)
    a_lot(venue, document="DN 4711")
    assert named(venue, "stock.lot_without_paper") == [str(lot)]
    a_batch(venue, lot, drawn=lot.amount_left)
    assert named(venue, "stock.lot_without_paper") == []


def test_what_was_made_here_needs_no_supplier(venue):
    preparation = a_preparation(venue, a_lot(venue, document="DN 4711"))
    assert preparation.lot.delivery is None
    assert named(venue, "stock.lot_without_source") == []


@pytest.mark.parametrize(
    ("facts", "is_named"),
    [
        ({"allergen_list_basis": ""}, True),
        ({"allergen_list_basis": "maker's label"}, False),
        ({"allergen_list_basis": "", "made_in_house": True}, False),
        ({"allergen_list_basis": "", "is_active": False}, False),
    ],
)
def test_a_bought_ingredient_whose_label_nobody_read_is_named(venue, facts, is_named):
    ingredient = an_ingredient(venue, **facts)
    expected = [ingredient.name] if is_named else []
    assert named(venue, "stock.allergens_not_known") == expected


def test_a_source_stated_as_not_known_is_a_gap_though_the_label_was_read(venue):
    ingredient = an_ingredient(venue)
    state_allergen(
        ingredient=ingredient, source="almond", statement="not_known", by=a_recorder(venue)
    )
    assert named(venue, "stock.allergens_not_known") == [ingredient.name]


# Drinks


def test_a_keg_past_its_date_is_named_until_then_not(venue):
    fill = a_fill(venue)
    last = fill.use_by_at
    rule = "drinks.past_date"
    assert named(venue, rule, last) == []
    assert named(venue, rule, last + timedelta(seconds=1)) == [
        f"{fill.keg}, {fill.batch.recipe.name}"
    ]


def test_a_hold_on_a_keg_or_a_lot_waits_after_a_day(venue):
    fill, lot = a_fill(venue), a_lot(venue)
    by = a_recorder(venue)
    hold_fill(fill=fill, reason="tastes of lees", by=by)
    hold_lot(lot=lot, reason="seal broken", by=by)
    now = timezone.now()
    assert named(venue, "drinks.hold_undecided", now + timedelta(hours=23)) == []
    waiting = named(venue, "drinks.hold_undecided", now + timedelta(hours=25))
    assert waiting == [f"{fill.keg}, {fill.batch.recipe.name}", str(lot)]


def test_a_house_rule_without_a_name_behind_it_is_named(venue):
    recipe = a_recipe(venue)
    by = a_recorder(venue)
    assert named(venue, "drinks.rule_without_approval") == []
    add_keg_shelf_life(recipe=recipe, days=5, basis="maker_label", by=by)
    KegShelfLife.objects.filter(recipe=recipe, basis="house_rule").update(approved_by="")
    assert named(venue, "drinks.rule_without_approval") == [f"{recipe}: 10 days in the keg"]


# The cold


def read_at(venue: Venue, place, day, at: time) -> None:
    cold_chain.record_reading(
        place=place,
        read_at=datetime.combine(day, at, venue.zone),
        temperature_degc=Decimal(3),
        by=a_recorder(venue),
    )


@pytest.mark.records
def test_days_are_those_of_the_venue_and_today_is_not_over(venue):
    """A reading half an hour past midnight by the bar's clock is of that day, not of UTC's."""
    place = a_place(venue, name="Walk-in")
    now = timezone.now()
    today = venue.local(now).date()
    for ago in (5, 4, 2):
        read_at(venue, place, today - timedelta(days=ago), time(0, 30))
        read_at(venue, place, today - timedelta(days=ago), time(23, 30))
    read = places_read(venue, [place], now)[0]
    assert read.days_missed == (today - timedelta(days=3), today - timedelta(days=1))
    assert read.days_looked_at == 5


def test_nothing_is_asked_of_the_days_before_a_place_was_first_read(venue):
    place = a_place(venue)
    now = timezone.now()
    read_at(venue, place, venue.local(now).date() - timedelta(days=1), time(12))
    assert places_read(venue, [place], now)[0].days_missed == ()


def test_a_place_that_was_never_read_is_named(venue):
    a_place(venue, name="Walk-in")
    assert named(venue, "cold.days_without_reading") == ["Walk-in"]


@pytest.mark.parametrize("night", [date(2026, 3, 8), date(2026, 11, 1)])
def test_the_days_of_a_clock_change_are_whole_days(venue, night):
    """America/New_York: 8 March 2026 has 23 hours and 1 November 2026 has 25 (IANA tzdata)."""
    place = a_place(venue)
    for day in (night - timedelta(days=1), night, night + timedelta(days=1)):
        moment = datetime.combine(day, time(23, 45), venue.zone)
        if moment > timezone.now():
            pytest.skip("this night is still to come")
        read_at(venue, place, day, time(23, 45))
    now = datetime.combine(night + timedelta(days=2), time(9), venue.zone)
    assert places_read(venue, [place], now)[0].days_missed == ()


def test_a_thermometer_nobody_checked_is_not_believed(venue):
    by = a_recorder(venue)
    probe = cold_chain.add_thermometer(venue=venue, name="Probe 2", is_air=False, by=by)
    assert named(venue, "cold.thermometer_late") == ["Probe 2"]
    cold_chain.record_check(
        thermometer=probe,
        checked_at=timezone.now(),
        method="ice_point",
        read_degc=Decimal("0.2"),
        by=by,
    )
    assert named(venue, "cold.thermometer_late") == []


# Cleaning


def test_a_clean_that_was_not_finished_asks_for_an_action_and_then_for_a_second_person(venue):
    cleaner = Cleaner(venue)
    (cycle,) = cleaner.starts(a_plan(venue), a_line(venue))
    close_cycle(cycle=cycle, by=cleaner.by)
    assert len(named(venue, "cleaning.corrective_open")) == 1
    action = record_corrective_action(
        cycle=cycle,
        found="No step was recorded",
        cause="The phone was flat",
        done="Cleaned again",
        product_affected="None",
        by=a_recorder(venue, "jonas"),
    )
    assert named(venue, "cleaning.corrective_open") == []
    assert len(named(venue, "cleaning.corrective_unverified")) == 1
    verify_corrective_action(action=action, by=a_recorder(venue, "petra"))
    assert named(venue, "cleaning.corrective_unverified") == []
    assert CorrectiveAction.objects.get().verified_by == "petra"


def test_a_line_under_a_plan_that_was_never_cleaned_is_overdue_since_nobody_knows_when(venue):
    a_line(venue, name="3")
    a_plan(venue)
    gap = next(gap for gap in gaps(venue, timezone.now()) if gap.rule == "cleaning.overdue")
    assert gap.since is None
    assert gap.items[0].name.startswith("Line 3")


@pytest.mark.parametrize(
    ("expires", "is_named"), [(timedelta(days=-1), True), (timedelta(0), False), (None, True)]
)
def test_a_chemical_past_its_date_or_without_one_is_named(venue, expires, is_named):
    """A date on a pack includes its day."""
    today = venue.local(timezone.now()).date()
    batch = a_cleaner(venue, expires_on=None if expires is None else today + expires)
    expected = [str(batch)] if is_named else []
    assert named(venue, "cleaning.chemical_out_of_date") == expected


def test_a_chemical_without_a_safety_data_sheet_is_named(venue):
    batch = a_cleaner(venue)
    assert named(venue, "cleaning.chemical_without_sheet") == [batch.chemical.name]


# The ledger


def test_a_walk_along_the_chain_settles_the_gap_for_a_week(venue):
    now = timezone.now()
    walk_chain(venue=venue, at=now, by=a_recorder(venue))
    assert "ledger.not_verified" not in rules(venue, now + timedelta(days=7))
    assert "ledger.not_verified" in rules(venue, now + timedelta(days=7, minutes=1))


# The demo, and the cost


@pytest.fixture(scope="module")
def bar(django_db_setup, django_db_blocker) -> Iterator[tuple[Venue, datetime]]:
    now = timezone.now()
    with django_db_blocker.unblock(), laid_demo(now):
        yield Venue.objects.get(name="The Lantern and Otter"), now


def test_the_demo_shows_its_known_gaps(bar):
    venue, now = bar
    found = {gap.rule: gap for gap in gaps(venue, now)}
    assert found["drinks.past_date"].items[0].name == "Keg K4, Melon Verandah"
    assert found["cold.excursion_open"].items[0].name == "Back bar fridge"
    assert [item.name for item in found["stock.allergens_not_known"].items] == ["Falernum"]
    assert found["ledger.not_verified"].weight is Weight.ASK
    assert found["cleaning.overdue"].count == len(found["cleaning.overdue"].items) > 0
    assert found["pressure.due"].count > 0


def counted(venue: Venue) -> int:
    with CaptureQueriesContext(connection) as made:
        gaps(venue, timezone.now())
    return len(made)


@pytest.mark.records
def test_the_number_of_queries_does_not_grow_with_the_records(venue):
    """Each kind of record once, then four more of each."""

    def more(number: int) -> None:
        for each in range(number):
            place = a_place(venue)
            read_at(venue, place, venue.local(timezone.now()).date(), time(0, 1))
            cold_chain.add_thermometer(
                venue=venue, name=f"Probe {place}{each}", is_air=False, by=a_recorder(venue)
            )
            fill = a_fill(venue)
            hold_fill(fill=fill, reason="tastes of lees", by=a_recorder(venue))
            hold_lot(lot=a_lot(venue), reason="seal broken", by=a_recorder(venue))
            an_ingredient(venue, allergen_list_basis="")
            a_keg(venue)
            (cycle,) = cleaner.starts(plan, a_line(venue))
            close_cycle(cycle=cycle, by=cleaner.by)

    plan, cleaner = a_plan(venue), Cleaner(venue)
    more(1)
    with_one = counted(venue)
    more(4)
    assert counted(venue) == with_one <= MOST_QUERIES
