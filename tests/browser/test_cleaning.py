"""Cleaning with one hand: taps are counted, limits break, and what follows is recorded."""

import re
from datetime import timedelta

import pytest
from django.db.models import F
from playwright.sync_api import Page, expect

from kegsafe.cleaning import services
from kegsafe.cleaning.models import CorrectiveAction, Cycle, CycleStep, LineEvent
from tests.builders import a_line, a_person, a_recorder, a_tapping, a_venue
from tests.cleaning.cycle_acts import Cleaner, a_plan

pytestmark = pytest.mark.django_db(transaction=True)


class Hand:
    """A thumb that counts what it does."""

    def __init__(self, page: Page) -> None:
        self.page, self.count = page, 0

    def taps(self, name: str | re.Pattern[str], role: str = "button") -> None:
        self.count += 1
        with self.page.expect_navigation():
            self.page.get_by_role(role, name=name).tap()

    def types(self, label: str, text: str) -> None:
        self.count += 1
        self.page.get_by_label(label).fill(text)


@pytest.fixture
def venue():
    return a_venue()


@pytest.fixture
def jonas(venue):
    """The cupboard is full, the strip's chart is known, and the tap water was read today."""
    cleaner = Cleaner(venue)
    services.amend_chemical(
        chemical=cleaner.sanitiser.chemical,
        changes={"strip_blocks": ["0", "50", "100", "150", "200"]},
        reason="From the chart",
        by=cleaner.by,
    )
    (earlier,) = cleaner.starts(a_plan(venue, "line.plain"), a_line(venue, name="Earlier"))
    cleaner.does_all(earlier)
    return cleaner


@pytest.fixture
def hand(phone, venue, sign_in):
    sign_in(phone, a_person(venue, "staff", name="ana"))
    return Hand(phone)


def _time_passes(**span: int) -> None:
    """Move all that goes on into the past: nobody waits a quarter of an hour for a test."""
    gone = timedelta(**span)
    Cycle.objects.filter(ended_at=None).update(started_at=F("started_at") - gone)
    steps = CycleStep.objects.filter(cycle__ended_at=None)
    steps.update(started_at=F("started_at") - gone, ended_at=F("ended_at") - gone)
    LineEvent.objects.filter(cycle__ended_at=None).update(at=F("at") - gone)


def _cleans(hand: Hand) -> None:
    """Go through the plan for a line, sugar in it, from the open start page on."""
    hand.taps("Done: detergent goes in next")
    _time_passes(minutes=16)
    hand.types("Coldest it was", "35 C")
    hand.taps("Detergent comes out now")
    hand.taps(re.compile("Every tap reads the same as the tap water"))
    _time_passes(minutes=2)
    hand.taps(re.compile("Strip 100 to 150 ppm"))
    hand.taps("Done")


def test_a_passing_cycle_of_one_line_takes_six_taps_and_fields(hand, venue, jonas):
    line, plan = a_line(venue, name="3"), a_plan(venue)
    hand.page.goto(f"/cleaning/start/?piece=line-{line.pk}&plan={plan.pk}")
    _cleans(hand)
    expect(hand.page.get_by_role("heading", name="Line 3: complete")).to_be_visible()
    assert Cycle.objects.get(line=line).result == "complete"
    assert hand.count <= 6


def test_twelve_lines_together_take_no_more_than_twelve(hand, venue, jonas):
    for number in range(11):
        a_line(venue, name=f"N{number}")
    plan = a_plan(venue)
    hand.page.goto(f"/cleaning/start/?plan={plan.pk}")
    hand.taps(re.compile("Tick all"), role="link")
    _cleans(hand)
    together = Cycle.objects.filter(plan=plan)
    assert together.count() == 12
    assert set(together.values_list("result", flat=True)) == {"complete"}
    assert hand.count <= 12


def test_a_timer_goes_on_through_a_reload_and_on_a_second_phone(hand, venue, jonas):
    line, plan = a_line(venue), a_plan(venue)
    hand.page.goto(f"/cleaning/start/?piece=line-{line.pk}&plan={plan.pk}")
    hand.taps("Done: detergent goes in next")
    _time_passes(minutes=5)
    hand.page.reload()
    timer = hand.page.get_by_role("timer")
    expect(timer).to_have_text(re.compile(r"^(9:5\d|10:00) to go$"))
    second = hand.page.context.new_page()
    second.goto(hand.page.url)
    expect(second.get_by_role("timer")).to_have_text(re.compile(r"^(9:[45]\d|10:00) to go$"))


def test_from_a_weak_detergent_to_its_corrective_action_and_do_not_pour_and_back(
    hand, venue, jonas
):
    line, plan = a_line(venue, name="3"), a_plan(venue)
    page = hand.page
    page.goto(f"/cleaning/start/?piece=line-{line.pk}&plan={plan.pk}")
    hand.taps("Done: detergent goes in next")
    expect(page.get_by_text("Line 3 holds detergent. Do not pour")).to_be_visible()
    _time_passes(minutes=16)
    hand.types("Coldest it was", "35 C")
    hand.types("Strength", "1.5 %")
    hand.taps("Detergent comes out now")
    expect(page.get_by_text("Line cleaner, alkaline was too weak: 1.5 %")).to_be_visible()
    page.get_by_label("Line 3: pH of the rinse water").fill("11")
    hand.taps("Record the rinse as written above")
    expect(page.get_by_text("Line 3 holds detergent. Do not pour")).to_be_visible()
    hand.taps(re.compile("Every tap reads the same as the tap water"))
    expect(page.get_by_text("Line 3 holds sanitiser. Do not pour")).to_be_visible()
    _time_passes(minutes=2)
    hand.taps(re.compile("Strip 100 to 150 ppm"))
    hand.taps("Done")
    expect(page.get_by_role("heading", name="Line 3: failed")).to_be_visible()
    expect(page.get_by_text("Do not pour")).to_have_count(0)
    hand.taps("Record the corrective action", role="link")
    page.get_by_label("Why it happened").fill("The old jug was used")
    page.get_by_label("What was done").fill("Mixed again, cleaned again")
    page.get_by_label("Drinks affected, and what became of them").fill("None was on")
    hand.taps("Record the corrective action")
    expect(page.get_by_text("The old jug was used")).to_be_visible()
    assert "too weak" in CorrectiveAction.objects.get().found


def test_the_kegs_own_page_says_do_not_pour_while_its_line_holds_detergent(hand, venue, jonas):
    tapping, plan, page = a_tapping(venue), a_plan(venue), hand.page
    keg_page = f"/pour/{tapping.fill.keg.label_code}/"
    page.goto(f"/cleaning/start/?piece=line-{tapping.tap.line_id}&plan={plan.pk}")
    hand.taps("Done: detergent goes in next")
    cycle_page = page.url
    page.goto(keg_page)
    expect(page.locator(".verdict-word")).to_have_text("Do not pour")
    expect(page.locator(".verdict-reason")).to_contain_text("holds detergent")
    page.goto(cycle_page)
    _time_passes(minutes=16)
    hand.types("Coldest it was", "35 C")
    hand.taps("Detergent comes out now")
    hand.taps(re.compile("Every tap reads the same as the tap water"))
    _time_passes(minutes=2)
    hand.taps(re.compile("Strip 100 to 150 ppm"))
    hand.taps("Done")
    page.goto(keg_page)
    expect(page.locator(".verdict-word")).not_to_have_text("Do not pour")


def test_no_page_of_the_room_runs_off_a_phone(hand, venue, jonas):
    services.copy_plan(venue=venue, starter_key="keg", by=a_recorder(venue))
    for url in ("", "start/?piece=line-1", "cycles/", "plans/", "chemicals/", "equipment/"):
        hand.page.goto(f"/cleaning/{url}")
        wide = hand.page.evaluate("document.documentElement.scrollWidth")
        assert wide <= 390, f"/cleaning/{url} is {wide} px wide"
