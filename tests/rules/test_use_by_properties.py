"""Adding to a drink never lengthens its date, whatever is added and whatever the drink is."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from kegsafe.rules.facts import Basis, DateKind, Drink, House, Part, ShelfLife, Trigger
from kegsafe.rules.tcs import ProductAssessment, tcs_categories
from kegsafe.rules.use_by import use_by
from tests.rules.drink_facts import LONDON, ZONE, a_house, a_part, an_assessment, keeps

MADE = datetime(2026, 6, 15, 12, tzinfo=UTC)

moments = st.timedeltas(timedelta(days=-40), timedelta()).map(lambda span: MADE + span)
dates = st.dates(date(2026, 5, 1), date(2026, 9, 1))
maybe = st.none()
acidity = maybe | st.decimals(Decimal("2"), Decimal("8"), places=2)
dryness = maybe | st.decimals(Decimal("0.80"), Decimal("1"), places=3)


@st.composite
def assessments(draw: st.DrawFn) -> ProductAssessment:
    return an_assessment(
        assessed_on=draw(dates),
        expires_on=draw(maybe | dates),
        concludes_not_tcs=draw(st.booleans()),
        maximum_days=draw(maybe | st.integers(1, 60)),
        competent_person=draw(st.sampled_from(["Dr Ines Falk", ""])),
    )


@st.composite
def rules(draw: st.DrawFn, triggers: tuple[Trigger, ...] = tuple(Trigger)) -> ShelfLife:
    days = draw(maybe | st.integers(1, 60))
    return keeps(
        days,
        draw(st.sampled_from(triggers)),
        hours=None if days else draw(st.integers(1, 200)),
        basis=draw(st.sampled_from(Basis)),
        approved_by=draw(st.sampled_from(["Mara Lindqvist", ""])),
        assessment=draw(maybe | assessments()),
    )


@st.composite
def parts(draw: st.DrawFn) -> Part:
    kind = draw(st.sampled_from(DateKind))
    return a_part(
        "Something",
        category=draw(st.sampled_from([*tcs_categories(), "unheard of"])),
        date_kind=kind,
        date_on=None if kind is DateKind.NONE else draw(dates),
        is_prepared=draw(st.booleans()),
        prepared_at=draw(maybe | moments),
        business_date=draw(maybe | dates),
        opened_at=draw(maybe | moments),
        thawed_at=draw(maybe | moments),
        measured_ph=draw(acidity),
        measured_water_activity=draw(dryness),
        heat_treated_and_packaged=draw(st.booleans()),
        shelf_stable_unopened=draw(st.booleans()),
        date_mark_exempt=draw(st.booleans()),
        assessment=draw(maybe | assessments()),
        shelf_lives=tuple(draw(st.lists(rules(), max_size=2))),
        in_glass=draw(st.booleans()),
    )


@st.composite
def drinks(draw: st.DrawFn) -> Drink:
    return Drink(
        name="Something mixed",
        made_at=MADE,
        business_date=draw(maybe | dates),
        filled_at=MADE + draw(st.timedeltas(timedelta(), timedelta(days=5))),
        parts=tuple(draw(st.lists(parts(), max_size=3))),
        measured_ph=draw(acidity),
        measured_water_activity=draw(dryness),
        assessment=draw(maybe | assessments()),
        shelf_lives=tuple(draw(st.lists(rules((Trigger.KEGGED,)), max_size=2))),
    )


houses = st.sampled_from(
    [
        a_house("us_fda_2022", ZONE),
        a_house("england", LONDON),
        a_house("england", LONDON, best_before_binds=True),
        a_house("eu", LONDON),
        a_house("anz", ZONE, best_before_binds=True),
    ]
)


def is_later(one: datetime | None, other: datetime | None) -> bool:
    """No date at all is the strictest answer, and never counts as a later one."""
    if one is None:
        return False
    return other is None or one.astimezone(UTC) > other.astimezone(UTC)


@given(drinks(), parts(), houses)
def test_adding_an_ingredient_never_makes_a_use_by_later(drink: Drink, added: Part, house: House):
    before = use_by(drink, house).use_by
    after = use_by(replace(drink, parts=(*drink.parts, added)), house).use_by
    assert not is_later(after, before)


@given(drinks(), rules((Trigger.KEGGED,)), houses)
def test_adding_a_rule_nobody_assessed_never_makes_a_dated_drink_later(drink, rule, house):
    """A first rule may give a date where there was none: that is what it is for."""
    before = use_by(drink, house).use_by
    unassessed = replace(rule, assessment=None)
    after = use_by(replace(drink, shelf_lives=(*drink.shelf_lives, unassessed)), house).use_by
    assert before is None or not is_later(after, before)


@given(drinks(), houses)
def test_a_use_by_is_the_earliest_of_its_own_reasons(drink: Drink, house: House):
    verdict = use_by(drink, house)
    if verdict.use_by is not None:
        ends = [each.ends_at.astimezone(UTC) for each in verdict.candidates]
        assert verdict.use_by.astimezone(UTC) == min(ends)


@given(drinks(), houses)
def test_a_drink_without_a_date_always_says_what_is_missing(drink: Drink, house: House):
    verdict = use_by(drink, house)
    said = [each for each in verdict.findings if "Cannot be dated until" in each.statement]
    assert (verdict.use_by is None) == bool(said)
