"""The gaps an inspector would find: when each is one, what it says, and how much it weighs."""

import csv
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from kegsafe.rules.codes import codes
from kegsafe.rules.facts import House
from kegsafe.rules.readiness import ChainWalk, Held, Item, PlaceRead, RecordFacts, gaps_in
from kegsafe.rules.readiness_clauses import NO_SOURCE, Weight, clause_of
from kegsafe.science.tables import SHARED

NOW = datetime(2026, 6, 5, 12, 0, tzinfo=UTC)
JUST_NOW = ChainWalk(NOW - timedelta(minutes=1))
SHORT = (
    "warm_places",
    "late_thermometers",
    "overdue_cleans",
    "cycles_unanswered",
    "actions_unverified",
    "chemicals_out_of_date",
    "chemicals_without_sheet",
    "lots_without_source",
    "lots_without_paper",
    "allergens_not_known",
    "drinks_past_date",
    "drinks_without_date",
    "rules_without_approval",
    "pressure_due",
)


def facts(*, code: str = "us_fda_2022", **said: object) -> RecordFacts:
    """Return records in which only what is said falls short."""
    house = House(codes()[code], ZoneInfo("Europe/London"))
    return RecordFacts(house=house, **{"chain": JUST_NOW, **said})


def an_item(name: str = "Keg K4", **more: object) -> Item:
    return Item(name, "Something is missing.", **more)


def only(found):
    assert len(found) == 1, [gap.rule for gap in found]
    return found[0]


def everything_wrong(code: str) -> RecordFacts:
    short = {field: [an_item()] for field in SHORT}
    return facts(
        code=code,
        places=[PlaceRead("Walk-in", None, (), 0)],
        held=[Held("Keg K8", "tastes of lees", None)],
        has_cleaning_plan=False,
        chain=ChainWalk(None),
        **short,
    )


def test_records_without_a_gap_show_none():
    assert gaps_in(facts(), NOW) == ()


@pytest.mark.parametrize("field", SHORT)
def test_one_thing_is_one_gap_that_counts_and_names_it(field):
    gap = only(gaps_in(facts(**{field: [an_item()]}), NOW))
    assert (gap.count, [item.name for item in gap.items]) == (1, ["Keg K4"])
    assert gap.what.startswith("1 ")
    assert gap.what.endswith(".")


@pytest.mark.parametrize("field", SHORT)
def test_three_things_of_one_kind_are_one_gap_of_three(field):
    gap = only(gaps_in(facts(**{field: [an_item("K1"), an_item("K2", number=2)]}), NOW))
    assert gap.count == 3
    assert gap.what.startswith("3 ")


def test_a_gap_has_stood_since_the_earliest_of_its_things():
    early, late = NOW - timedelta(days=9), NOW - timedelta(days=2)
    items = [an_item(since=late), an_item(since=early), an_item()]
    assert only(gaps_in(facts(overdue_cleans=items), NOW)).since == early


def test_nobody_knows_since_when_where_no_thing_says():
    assert only(gaps_in(facts(allergens_not_known=[an_item()]), NOW)).since is None


# A hold is decided within a day (house value)


@pytest.mark.parametrize(
    ("stood", "waits"),
    [
        (timedelta(hours=23, minutes=59), False),
        (timedelta(hours=24), False),
        (timedelta(hours=24, minutes=1), True),
    ],
)
def test_a_hold_waits_once_it_has_stood_longer_than_a_day(stood, waits):
    found = gaps_in(facts(held=[Held("Keg K8", "tastes of lees", NOW - stood)]), NOW)
    assert bool(found) is waits


def test_a_hold_whose_beginning_nobody_knows_waits():
    gap = only(gaps_in(facts(held=[Held("Keg K8", "tastes of lees", None)]), NOW))
    assert gap.items[0].why == "tastes of lees"


# The ledger is verified once a week (house value)


@pytest.mark.parametrize(
    ("ago", "is_late"),
    [
        (timedelta(days=7, minutes=-1), False),
        (timedelta(days=7), False),
        (timedelta(days=7, minutes=1), True),
    ],
)
def test_a_ledger_is_late_when_a_week_has_passed(ago, is_late):
    found = gaps_in(facts(chain=ChainWalk(NOW - ago, entries_since=12)), NOW)
    assert [gap.rule for gap in found] == (["ledger.not_verified"] if is_late else [])


def test_a_late_ledger_says_when_it_was_walked_and_how_much_came_since():
    walk = ChainWalk(datetime(2026, 5, 1, 8, 30, tzinfo=UTC), entries_since=1)
    gap = only(gaps_in(facts(chain=walk), NOW))
    assert gap.items[0].why == "Last verified Fri 1 May 2026, 09:30; 1 entry since."


def test_a_ledger_nobody_ever_walked_is_a_gap_of_its_own_words():
    assert only(gaps_in(facts(chain=ChainWalk(None)), NOW)).what == "The ledger was never verified."


def test_a_fault_in_the_ledger_weighs_more_than_a_late_walk():
    broken = only(gaps_in(facts(chain=ChainWalk(NOW, "Entry 7: its text is not ...")), NOW))
    late = only(gaps_in(facts(chain=ChainWalk(None)), NOW))
    assert (broken.rule, broken.weight) == ("ledger.broken", Weight.WRITE_UP)
    assert late.weight is Weight.ASK


# Days without a temperature


def test_days_nobody_read_are_counted_over_all_places():
    places = [
        PlaceRead("Walk-in", NOW, (date(2026, 6, 1), date(2026, 6, 3)), 28),
        PlaceRead("Tap cooler", NOW, (date(2026, 6, 3),), 28),
        PlaceRead("Fridge", NOW, (), 28),
    ]
    gap = only(gaps_in(facts(places=places), NOW))
    assert (gap.count, gap.what) == (3, "3 days without a temperature reading.")
    assert gap.items[0].why == "Not read on 2 days of 28, last on Wed 3 Jun 2026."
    assert gap.items[1].why == "Not read on 1 day of 28, last on Wed 3 Jun 2026."


def test_a_place_never_read_is_named_so():
    gap = only(gaps_in(facts(places=[PlaceRead("Walk-in", None, (), 0)]), NOW))
    assert gap.what == "1 place never read."
    assert gap.items[0].why == "No temperature is on record."


def test_without_a_cleaning_plan_nothing_is_due_and_that_is_a_gap():
    gap = only(gaps_in(facts(has_cleaning_plan=False), NOW))
    assert gap.what == "No cleaning plan is in force for any piece of equipment."


# Weight and clause


def test_the_gravest_gap_comes_first():
    found = gaps_in(everything_wrong("us_fda_2022"), NOW)
    order = {weight: place for place, weight in enumerate(Weight)}
    places = [order[gap.weight] for gap in found]
    assert places == sorted(places)
    assert found[0].rule == "drinks.past_date"


def test_a_check_of_pressure_gear_cites_the_rule_of_its_own():
    items = [an_item(source="49 CFR 180.209", verified="read")]
    clause = only(gaps_in(facts(pressure_due=items), NOW)).clause
    assert (clause.citation, clause.verified) == ("49 CFR 180.209", "read")


@pytest.mark.parametrize(
    ("code", "clause"),
    [
        ("us_fda_2022", "FDA Food Code 2022, 3-602.12(C)"),
        ("eu", "Reg. (EU) 1169/2011, Art. 44(1)(a) and (2)"),
    ],
)
def test_the_allergen_duty_is_that_of_the_list_the_code_uses(code, clause):
    gap = only(gaps_in(facts(code=code, allergens_not_known=[an_item()]), NOW))
    assert gap.clause.citation == clause


@pytest.mark.parametrize("code", ["england", "eu", "anz"])
def test_a_code_without_classes_of_items_borrows_no_weight_from_the_one_that_has_them(code):
    for gap in gaps_in(everything_wrong(code), NOW):
        assert gap.clause.weight_source == NO_SOURCE, gap.rule


@pytest.mark.parametrize("code", sorted(codes()))
def test_every_gap_has_a_clause_under_every_code(code):
    wrong = gaps_in(everything_wrong(code), NOW)
    assert all(gap.clause.source and gap.clause.verified for gap in wrong)


def test_every_row_of_the_clauses_belongs_to_a_rule_and_a_code():
    known = {gap.rule for gap in gaps_in(everything_wrong("us_fda_2022"), NOW)} | {"ledger.broken"}
    with (SHARED / "readiness" / "clauses.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert {row["gap"] for row in rows} == known
    assert {row["code"] for row in rows} <= {*codes(), "any"}
    assert {row["gap"] for row in rows if row["code"] == "any"} == known


def test_a_code_that_says_nothing_falls_back_on_common_practice():
    clause = clause_of("stock.lot_without_paper", "anz")
    assert (clause.source, clause.verified) == (NO_SOURCE, "common practice")


@pytest.mark.parametrize("word", ["approved", "safe", "certified", "pass"])
def test_no_gap_speaks_a_verdict_in_the_tools_own_voice(word):
    for code in codes():
        for gap in gaps_in(everything_wrong(code), NOW):
            assert word not in f"{gap.what} {gap.weight.in_words}".casefold().split()


def test_what_command_and_pack_print_of_a_gap():
    items = [an_item("Keg K4, Melon Verandah", since=NOW)]
    printed = only(gaps_in(facts(drinks_past_date=items), NOW)).as_json()
    assert printed["rule"] == "drinks.past_date"
    assert printed["weight"] == "stop"
    assert printed["since"] == "2026-06-05T12:00:00+00:00"
    assert printed["items"] == [{"name": "Keg K4, Melon Verandah", "why": "Something is missing."}]
