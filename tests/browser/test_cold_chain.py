"""The cold room as people hold it: a morning round on a phone, an excursion, a file at a desk.

Rules of accessibility come from axe-core 4.12 (Deque), which tests against WCAG 2.2.
"""

import io
import os
from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from kegsafe.cold_chain import services
from kegsafe.cold_chain.log_file import sniff
from kegsafe.cold_chain.models import CorrectiveAction, ImportedLog, Reading
from kegsafe.equipment.services import place_keg
from tests.builders import a_fill, a_person, a_place, a_recorder, a_venue
from tests.cold_chain.test_imports import a_file

PICTURES = os.environ.get("KEGSAFE_PICTURES", "")


@pytest.fixture
def bar(transactional_db):
    return a_venue("england", "Europe/London", units="metric")


def looked_at(page: Page, name: str) -> None:
    if PICTURES:
        page.screenshot(path=str(Path(PICTURES) / f"{name}.png"), full_page=True)
    # A button on its way from one colour to the next has neither's contrast.
    page.evaluate("Promise.all(document.getAnimations().map(each => each.finished))")
    found = Axe().run(page).response["violations"]
    assert [(each["id"], each["nodes"][0]["html"]) for each in found] == []
    wide = page.evaluate("document.documentElement.scrollWidth > window.innerWidth")
    assert not wide, "the page is wider than the screen"


class Hand:
    """Counts what a person does: each field filled and each tap."""

    def __init__(self) -> None:
        self.interactions = 0

    def fills(self, field, text: str) -> None:
        field.fill(text)
        self.interactions += 1

    def taps(self, target) -> None:
        target.click()
        self.interactions += 1


def test_a_morning_round_of_eight_fridges_is_one_screen_and_ten_interactions(bar, phone, sign_in):
    for number in range(1, 9):
        a_place(bar, name=f"Fridge {number}", kind="fridge")
    sign_in(phone, a_person(bar, "staff", name="jonas"))
    phone.goto("/cold/")
    looked_at(phone, "round")
    button = phone.get_by_role("button", name="Record the temperatures")
    bar_top = button.bounding_box()["y"]
    for number in range(1, 9):
        box = phone.get_by_role("textbox", name=f"Temperature, Fridge {number}").bounding_box()
        assert 0 <= box["y"] <= bar_top - box["height"], f"Fridge {number} is off the screen"
        assert box["height"] >= 44, "a wet thumb needs 44 px"
    assert phone.evaluate("window.scrollY") == 0
    hand = Hand()
    for number in range(1, 9):
        field = phone.get_by_role("textbox", name=f"Temperature, Fridge {number}")
        hand.fills(field, f"{2 + number / 10:.1f}")
    hand.taps(phone.get_by_role("button", name="Record the temperatures"))
    expect(phone.get_by_text("Recorded: 8 temperatures.")).to_be_visible()
    assert Reading.objects.count() == 8
    assert hand.interactions <= 10


def test_an_excursion_leads_to_a_hold_on_the_keg_and_to_do_not_pour(bar, phone, sign_in):
    cooler = a_place(bar, name="Tap cooler")
    fill = a_fill(bar)
    place_keg(keg=fill.keg, place=cooler, at=timezone.now(), by=a_recorder(bar))
    services.record_reading(
        place=cooler,
        read_at=timezone.now() - timedelta(hours=2),
        temperature_degc=Decimal(3),
        by=a_recorder(bar),
    )
    sign_in(phone, a_person(bar, "manager", name="petra"))
    phone.goto("/cold/")
    phone.get_by_role("textbox", name="Temperature, Tap cooler").fill("11.5")
    phone.get_by_role("button", name="Record the temperatures").click()
    expect(phone.get_by_text("is above its limit")).to_be_visible()
    looked_at(phone, "round-warm")
    phone.get_by_role("link", name="Record what was done").click()
    looked_at(phone, "action")
    phone.get_by_label("What was done").fill("Held the keg, called the engineer.")
    phone.get_by_role("button", name="Record the corrective action").click()
    expect(phone.get_by_text("Held the keg, called the engineer.")).to_be_visible()
    looked_at(phone, "place")
    assert CorrectiveAction.objects.get().place == cooler
    phone.goto(reverse("fill-hold", args=[fill.pk]))
    phone.get_by_label("Reason").fill("Tap cooler at 11.5")
    phone.get_by_role("button", name="Put on hold").click()
    phone.goto(reverse("pour-check", args=[fill.keg.label_code]))
    expect(phone.get_by_text("Do not pour").first).to_be_visible()


def test_a_loggers_file_is_looked_at_corrected_and_imported_at_a_desk(bar, desk, sign_in, tmp_path):
    place = a_place(bar, name="Walk-in")
    path = tmp_path / "april.csv"
    path.write_text("When;Value\n13.04.2026 10:00;38,5\n13.04.2026 10:15;39,0\n")
    sign_in(desk, a_person(bar, "manager", name="petra"))
    desk.goto(reverse("cold-log-add", args=[place.pk]))
    desk.get_by_label("The logger's file").set_input_files(path)
    desk.get_by_role("button", name="Look at the file").click()
    expect(desk.get_by_role("heading", name="The file does not say")).to_be_visible()
    looked_at(desk, "file-asked")
    desk.get_by_label("Unit").select_option(label="°F")
    desk.get_by_label("The logger's clock is set to").fill("Europe/London")
    desk.get_by_role("button", name="Look again").click()
    expect(desk.get_by_text("3.6 °C").first).to_be_visible()
    looked_at(desk, "file-understood")
    desk.get_by_role("button", name="Import the readings").click()
    expect(desk.get_by_text("Recorded: 2 readings added.")).to_be_visible()
    looked_at(desk, "log")
    assert ImportedLog.objects.get().place == place


def test_the_pages_of_the_cold_room_stand_on_a_phone_and_at_a_desk(bar, phone, desk, sign_in):
    by = a_recorder(bar)
    place = a_place(bar, name="Walk-in")
    now = timezone.now()
    begins = now.replace(hour=0, minute=1, second=0, microsecond=0) - timedelta(days=1)
    degrees = [3 + k % 30 / 10 for k in range(500)]
    degrees += [9.5] * 90 + [4.0] * 300
    content = a_file(*degrees, begins=begins)
    services.import_log(
        place=place,
        stream=io.BytesIO(content),
        name="yesterday.csv",
        shape=sniff(content).shape,
        by=by,
    )
    probe = services.add_thermometer(venue=bar, name="Probe 1", is_air=False, by=by)
    services.set_cooling(
        place=place, values={"thermometer": probe, "reading_interval_s": 60}, by=by
    )
    services.record_check(
        thermometer=probe, checked_at=now, method="ice_point", read_degc=Decimal("0.4"), by=by
    )
    logger = services.add_logger(place=place, name="Grey box", interval_s=60, by=by)
    cooling = services.begin_cooling(
        venue=bar,
        what="Ginger syrup",
        procedure="hot",
        began_at=now - timedelta(minutes=50),
        degc=Decimal(82),
        by=by,
    )
    day = f"{begins:%Y-%m-%d}"
    addresses = {
        "place-day": reverse("cold-place", args=[place.pk]) + f"?day={day}",
        "place-month": reverse("cold-place", args=[place.pk]) + "?span=month",
        "cooling-of-place": reverse("cold-place-cooling", args=[place.pk]),
        "logger": reverse("cold-logger", args=[logger.pk]),
        "thermometers": reverse("thermometers"),
        "thermometer": reverse("thermometer", args=[probe.pk]),
        "coolings": reverse("coolings"),
        "cooling": cooling.get_absolute_url(),
    }
    person = a_person(bar, "manager", name="petra")
    for name, page in (("phone", phone), ("desk", desk)):
        sign_in(page, person)
        for address_name, address in addresses.items():
            page.goto(address)
            looked_at(page, f"{address_name}-{name}")
