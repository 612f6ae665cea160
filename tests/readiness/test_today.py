"""Today: what each role sees first, where each line leads, and what the page costs."""

import re
from collections.abc import Iterator
from datetime import datetime, time, timedelta
from decimal import Decimal
from html import unescape

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from kegsafe.batches.services import hold_fill
from kegsafe.cleaning.services import close_cycle
from kegsafe.cold_chain import services as cold_chain
from kegsafe.readiness.facts import Records
from kegsafe.readiness.today import MOST_LINES, today
from kegsafe.recalls.services import begin_recall
from kegsafe.stock.services import hold_lot
from kegsafe.venues.models import Role, Venue
from tests.builders import (
    a_clean,
    a_fill,
    a_keg,
    a_line,
    a_lot,
    a_person,
    a_place,
    a_recorder,
    a_tapping,
    a_venue,
    an_ingredient,
)
from tests.cleaning.cycle_acts import Cleaner, a_plan
from tests.laid_demo import laid_demo
from tests.query_counts import queries_of

pytestmark = pytest.mark.django_db

MOST_QUERIES = {Role.STAFF: 36, Role.INSPECTOR: 36, Role.MANAGER: 36, Role.OWNER: 56}


@pytest.fixture
def venue():
    return a_venue()


def browser_of(venue: Venue, role: str) -> Client:
    client = Client()
    client.force_login(a_person(venue, role))
    return client


def seen(venue: Venue, role: Role, now: datetime | None = None):
    """Return the parts that ask for something, by their key."""
    found = today(Records(venue, now or timezone.now()), role)
    return {part.key: part for part in found.asking}


def calm(venue: Venue, role: Role, now: datetime | None = None) -> dict[str, str]:
    found = today(Records(venue, now or timezone.now()), role)
    return {part.key: part.calm for part in found.in_order}


# What stops, what ends


def test_a_keg_past_its_date_stands_under_do_not_pour(venue):
    fill = a_fill(venue)
    late = seen(venue, Role.STAFF, fill.use_by_at + timedelta(minutes=1))
    assert [line.title for line in late["stops"].lines] == [f"{fill.keg}, {fill.batch.recipe}"]
    assert late["stops"].lines[0].detail.startswith("Past its date since")
    assert "ends" not in late


def test_a_keg_on_hold_stands_once_and_with_its_reason(venue):
    fill = a_fill(venue)
    hold_fill(fill=fill, reason="tastes of lees", by=a_recorder(venue))
    parts = seen(venue, Role.MANAGER)
    assert "stops" not in parts
    assert parts["held"].lines[0].detail.startswith("tastes of lees. Since ")


@pytest.mark.parametrize(("days_before", "is_shown"), [(0, True), (1, True), (2, False)])
def test_what_ends_today_or_tomorrow_by_the_venues_calendar_is_shown(venue, days_before, is_shown):
    """The last day is shown from its first minute, and the day before from its first."""
    fill = a_fill(venue)
    last_day = fill.use_by_at.astimezone(venue.zone).date()
    day = last_day - timedelta(days=days_before)
    for clock in (time(0, 1), time(23, 58)):
        parts = seen(venue, Role.STAFF, datetime.combine(day, clock, venue.zone))
        assert ("ends" in parts) is is_shown


def test_a_keg_that_stops_is_never_folded_away(venue):
    for _ in range(MOST_LINES + 3):
        hold_fill(fill=a_fill(venue), reason="tastes of lees", by=a_recorder(venue))
    held = seen(venue, Role.STAFF)["held"]
    assert len(held.shown) == MOST_LINES + 3
    assert held.further == 0


def test_what_can_wait_is_shortened_and_says_by_how_much(venue):
    a_plan(venue, "keg")
    for _ in range(MOST_LINES + 2):
        a_keg(venue)
    cleans = seen(venue, Role.STAFF)["cleans"]
    assert (len(cleans.shown), cleans.further) == (MOST_LINES, 2)
    page = browser_of(venue, Role.STAFF).get("/").content.decode()
    assert "And 2 more" in page


def test_a_recall_that_goes_on_leads_to_its_list_until_it_is_closed(venue):
    by, lot = a_recorder(venue), a_lot(venue)
    recall = begin_recall(venue=venue, lots=[lot], reason="glass in the bottle", by=by)
    line = seen(venue, Role.STAFF)["recalls"].lines[0]
    assert line.title == f"{recall}: glass in the bottle"
    assert line.address == recall.get_absolute_url()


# By role


def test_each_role_sees_its_own_parts(venue):
    def keys(role: Role) -> set[str]:
        found = today(Records(venue, timezone.now()), role)
        return {part.key for part in (*found.asking, *found.in_order)}

    floor = {"stops", "recalls", "held", "ends", "asks", "excursions", "cleans", "readings"}
    assert keys(Role.STAFF) == floor
    assert keys(Role.MANAGER) == floor | {"corrective"}
    assert keys(Role.OWNER) == floor | {"corrective", "gear", "gaps"}
    assert keys(Role.INSPECTOR) == floor - {"asks"} | {"corrective"}


def test_staff_reach_the_pour_check_in_one_step_and_see_what_is_on_tap(venue):
    tapping = a_tapping(venue)
    page = browser_of(venue, Role.STAFF).get("/").content.decode()
    assert f'href="{reverse("pour-search")}"' in page
    check = reverse("pour-check", args=[tapping.fill.keg.label_code])
    assert f'href="{check}">Tap {tapping.tap.name}: {tapping.fill.batch.recipe}</a>' in page


def test_the_owner_sees_among_the_gaps_only_what_stands_nowhere_else_on_the_page(venue):
    fill = a_fill(venue)
    an_ingredient(venue, name="Falernum", allergen_list_basis="")
    parts = seen(venue, Role.OWNER, fill.use_by_at + timedelta(minutes=1))
    titles = [line.title for line in parts["gaps"].lines]
    assert "1 ingredient whose allergens are not known." in titles
    assert not [title for title in titles if "past its date" in title]


# The calm page


def test_a_calm_page_says_when_each_thing_was_last_right(venue):
    place, keg = a_place(venue, name="Walk-in"), a_keg(venue)
    a_plan(venue, "keg")
    now = timezone.now()
    cold_chain.record_reading(
        place=place, read_at=now, temperature_degc=Decimal(3), by=a_recorder(venue)
    )
    cleaner = Cleaner(venue)
    cleaner.does_all(*cleaner.starts(venue.cleaning_plans.get(), keg))
    found = calm(venue, Role.MANAGER)
    assert found["stops"] == "No keg holds a drink."
    assert found["held"] == "No keg and no lot is on hold."
    assert found["excursions"].startswith("No place is on record as too warm. Each place was last")
    assert found["corrective"] == "No corrective action on a clean is open."
    page = browser_of(venue, Role.MANAGER).get("/").content.decode()
    assert "Nothing asks for you now" in page
    assert "In order on record" in page


def test_the_next_drink_to_end_is_named_where_none_ends_soon(venue):
    fill = a_fill(venue)
    last = fill.use_by_at.astimezone(venue.zone)
    said = calm(venue, Role.STAFF, last - timedelta(days=4))["ends"]
    assert said.startswith(f"No drink ends today or tomorrow. The next: {fill.keg}")


def test_nothing_on_record_is_never_taken_for_good(venue):
    """A bar without plans and with a place nobody read is not a calm one."""
    a_place(venue, name="Walk-in")
    parts = seen(venue, Role.MANAGER)
    assert parts["cleans"].lines[0].title == "No plan is in force for any piece"
    assert parts["readings"].lines[0].title == "Not read today: 1 of 1 places"


# The demo


@pytest.fixture(scope="module")
def bar(django_db_setup, django_db_blocker) -> Iterator[Venue]:
    with django_db_blocker.unblock(), laid_demo(timezone.now()):
        yield Venue.objects.get(name="The Lantern and Otter")


@pytest.mark.parametrize("role", list(Role))
def test_every_line_leads_somewhere_that_the_role_may_open(bar, role):
    records = Records(bar, timezone.now())
    found = today(records, role)
    addresses = {line.address for part in found.asking for line in part.lines}
    addresses |= {part.all_address for part in (*found.asking, *found.in_order)}
    client = Client()
    client.force_login(User.objects.get(memberships__venue=bar, memberships__role=role))
    client.get(reverse("home"))
    answers = {address: client.get(address).status_code for address in addresses}
    assert set(answers.values()) == {200}, answers


@pytest.mark.parametrize("role", list(Role))
def test_every_link_of_the_self_check_opens_for_the_role_that_sees_it(bar, role):
    client = Client()
    client.force_login(User.objects.get(memberships__venue=bar, memberships__role=role))
    page = client.get(reverse("readiness")).content.decode()
    main = page[page.index("<main") : page.index("</main>")]
    addresses = {unescape(found) for found in re.findall(r'<a [^>]*href="(/[^"]*)"', main)}
    answers = {address: client.get(address).status_code for address in addresses}
    assert len(answers) > 4
    assert set(answers.values()) == {200}, answers


def test_the_demos_manager_sees_what_stops_first(bar):
    client = Client()
    client.force_login(User.objects.get(username="manager"))
    client.get(reverse("home"))
    page = client.get(reverse("home")).content.decode()
    assert page.index("Do not pour") < page.index("Too warm") < page.index("To be cleaned today")
    assert "Keg K4, Melon Verandah" in page
    assert "Record what was done" in page


# The cost


@pytest.mark.parametrize("role", list(Role))
def test_the_page_makes_as_many_queries_for_five_of_each_as_for_one(venue, role):
    client = browser_of(venue, role)
    plan, cleaner, by = a_plan(venue), Cleaner(venue), a_recorder(venue)

    def more(number: int) -> None:
        for _ in range(number):
            place = a_place(venue)
            read_at = timezone.now() - timedelta(minutes=5)
            cold_chain.record_reading(
                place=place, read_at=read_at, temperature_degc=Decimal(12), by=by
            )
            a_tapping(venue)
            hold_fill(fill=a_fill(venue), reason="tastes of lees", by=by)
            hold_lot(lot=a_lot(venue), reason="seal broken", by=by)
            an_ingredient(venue, allergen_list_basis="")
            a_clean(venue, a_keg(venue))
            (cycle,) = cleaner.starts(plan, a_line(venue))
            close_cycle(cycle=cycle, by=cleaner.by)

    more(1)
    with_one = queries_of(client, "/")
    more(4)
    assert queries_of(client, "/") == with_one <= MOST_QUERIES[role]
