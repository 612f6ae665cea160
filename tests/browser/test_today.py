"""Today and the self-check as people open them: staff and manager on a phone, the owner at a desk.

Rules of accessibility come from axe-core 4.12 (Deque), which tests against WCAG 2.2.
"""

import os
from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.contrib.auth.models import User
from django.utils import timezone
from playwright.sync_api import Page, expect

from kegsafe.cold_chain import services as cold_chain
from kegsafe.demo.laying import lay
from kegsafe.demo.scenario import read_scenario
from kegsafe.readiness.models import ChainWalk, SelfCheck
from tests.builders import a_person, a_place, a_recorder, a_tapping, a_venue

PICTURES = os.environ.get("KEGSAFE_PICTURES", "")


def looked_at(page: Page, name: str) -> None:
    if PICTURES:
        page.screenshot(path=str(Path(PICTURES) / f"{name}.png"), full_page=True)
    found = Axe().run(page).response["violations"]
    assert [(each["id"], each["nodes"][0]["html"]) for each in found] == []
    wide = page.evaluate("document.documentElement.scrollWidth > window.innerWidth")
    assert not wide, "the page is wider than the screen"


def test_a_manager_opens_today_and_reaches_the_form_of_a_line(transactional_db, phone, sign_in):
    venue = a_venue()
    fridge = a_place(venue, name="Back bar fridge")
    for minutes, degc in ((90, 3), (5, 9)):
        cold_chain.record_reading(
            place=fridge,
            read_at=timezone.now() - timedelta(minutes=minutes),
            temperature_degc=Decimal(degc),
            by=a_recorder(venue),
        )
    sign_in(phone, a_person(venue, "manager", name="petra"))
    phone.goto("/")
    expect(phone.get_by_role("heading", name="Too warm: 1")).to_be_visible()
    looked_at(phone, "today-warm")
    phone.get_by_role("link", name="Back bar fridge").click()
    phone.get_by_label("What was done").fill("Door shut, seal wiped, drinks moved to the walk-in")
    phone.get_by_role("button", name="Record").click()
    phone.goto("/")
    expect(phone.get_by_text("Nobody has said what was done")).to_be_hidden()


def test_staff_reach_the_pour_check_with_the_thumb(transactional_db, phone, sign_in):
    tapping = a_tapping(a_venue())
    sign_in(phone, a_person(tapping.fill.batch.venue, "staff", name="jonas"))
    phone.goto("/")
    button = phone.get_by_role("link", name="May I pour this keg?")
    box = button.bounding_box()
    assert box["y"] > 844 / 2, "the button is not in the lower half of the screen"
    assert box["height"] >= 44
    phone.get_by_role("link", name=f"Tap {tapping.tap.name}:").click()
    expect(phone.get_by_role("heading", name=tapping.fill.keg.name)).to_be_visible()


def test_a_calm_day_is_a_calm_page(transactional_db, phone, sign_in):
    venue = a_venue()
    sign_in(phone, a_person(venue, "staff", name="jonas"))
    phone.goto("/")
    expect(phone.get_by_text("No keg holds a drink.")).to_be_visible()
    looked_at(phone, "today-calm")


@pytest.fixture
def demo(transactional_db):
    lay(read_scenario(settings.BASE_DIR / "fixtures" / "demo"), timezone.now())


def test_the_demos_self_check_shows_its_known_gaps_and_is_kept(demo, desk, phone, sign_in):
    owner = User.objects.get(username="owner")
    for page in (phone, desk):
        sign_in(page, owner)
        page.goto("/")
        looked_at(page, "today-owner")
        page.goto("/readiness/")
        looked_at(page, "self-check")
    for gap in (
        "1 keg still holds a drink past its date.",
        "1 place is above its limit, or was and nobody said what was done.",
        "1 ingredient whose allergens are not known.",
        "The ledger was not verified in the last 7 days.",
    ):
        expect(desk.get_by_role("heading", name=gap)).to_be_visible()
    for name in ("Keg K4, Melon Verandah", "Back bar fridge", "Falernum"):
        expect(desk.get_by_role("main").get_by_role("link", name=name)).to_be_visible()
    expect(desk.get_by_role("img", name="Gaps found by the last self-check")).to_be_visible()
    walks, checks = ChainWalk.objects.count(), SelfCheck.objects.count()
    desk.get_by_role("button", name="Verify the ledger").click()
    expect(desk.get_by_text("entries follow one another")).to_be_visible()
    expect(desk.get_by_text("The ledger was not verified")).to_be_hidden()
    desk.get_by_role("button", name="Record this self-check").click()
    expect(desk.get_by_text("Recorded: what the self-check found today.")).to_be_visible()
    assert (ChainWalk.objects.count(), SelfCheck.objects.count()) == (walks + 1, checks + 1)
