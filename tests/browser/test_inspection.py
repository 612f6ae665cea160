"""A pack as people come by it: a manager makes it on a phone, an inspector takes it away.

Rules of accessibility come from axe-core 4.12 (Deque), which tests against WCAG 2.2.
"""

from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from kegsafe.inspection.models import InspectionPack
from kegsafe.venues.models import Role, Venue
from tests.builders import a_fill, a_person, a_venue

_TOO_WIDE = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


@pytest.fixture
def venue(transactional_db) -> Venue:
    """A bar with one keg filled."""
    venue = a_venue()
    a_fill(venue)
    return venue


@pytest.fixture
def in_hand(phone, sign_in, venue) -> Page:
    """A phone on which the manager is signed in."""
    sign_in(phone, a_person(venue, Role.MANAGER))
    return phone


def test_a_manager_makes_a_pack_and_finds_it_on_the_list(in_hand, venue):
    in_hand.goto(reverse("packs"))
    in_hand.get_by_role("link", name="Make a pack").first.click()
    in_hand.get_by_role("button", name="Make the pack").click()
    expect(in_hand.get_by_role("heading", name="What it rests on")).to_be_visible(timeout=60_000)
    in_hand.get_by_role("link", name="Packs", exact=True).click()
    pack = InspectionPack.objects.get(venue=venue)
    expect(in_hand.get_by_text(f"{pack.pages} pages")).to_be_visible()


def test_an_inspector_takes_the_file_away_and_reads_the_fill_in_it(
    desk, sign_in, in_hand, venue, tmp_path
):
    in_hand.goto(reverse("pack-make"))
    in_hand.get_by_role("button", name="Make the pack").click()
    expect(in_hand.get_by_role("heading", name="What it rests on")).to_be_visible(timeout=60_000)
    sign_in(desk, a_person(venue, Role.INSPECTOR))
    desk.goto(reverse("packs"))
    expect(desk.get_by_role("link", name="Make a pack")).to_have_count(0)
    desk.locator(".card-link").click()
    with desk.expect_download() as coming:
        desk.get_by_role("link", name="The pack as PDF").click()
    path = tmp_path / "pack.pdf"
    coming.value.save_as(path)
    assert _words(path).count("Every keg filled in the period") == 1
    assert venue.kegs.get().name in _words(path)


@pytest.mark.parametrize("name", ["packs", "pack-make", "haccp"])
def test_the_pages_are_accessible_and_fit_a_phone(in_hand, name):
    in_hand.goto(reverse(name))
    assert Axe().run(in_hand).response["violations"] == []
    assert in_hand.evaluate(_TOO_WIDE) <= 0


def test_a_pack_that_is_made_fits_a_phone_and_is_accessible(in_hand, venue):
    in_hand.goto(reverse("pack-make"))
    in_hand.get_by_role("button", name="Make the pack").click()
    expect(in_hand.get_by_role("heading", name="What it rests on")).to_be_visible(timeout=60_000)
    assert Axe().run(in_hand).response["violations"] == []
    assert in_hand.evaluate(_TOO_WIDE) <= 0


def _words(path: Path) -> str:
    return " ".join(" ".join(page.extract_text().split()) for page in PdfReader(path).pages)
