"""The batches room on a phone in one hand: make, fill, tap, hold.

Rules of accessibility come from axe-core 4.12 (Deque), which tests against WCAG 2.2.
"""

from decimal import Decimal

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from kegsafe.batches.models import Fill, Tapping
from kegsafe.venues.models import Role
from tests.builders import (
    a_clean,
    a_fill,
    a_keg,
    a_lot,
    a_person,
    a_preparation,
    a_recipe,
    a_tap,
    a_tapping,
    a_venue,
    an_ingredient,
)


@pytest.fixture
def venue(transactional_db):
    return a_venue()


@pytest.fixture
def in_hand(phone, sign_in, venue) -> Page:
    """A phone on which a manager of the bar is signed in."""
    sign_in(phone, a_person(venue, Role.MANAGER))
    return phone


def test_a_drink_goes_from_its_lots_to_its_tap_in_one_hand(in_hand, venue):
    gin = an_ingredient(venue, name="Gin", abv_percent=Decimal(40), sugar_brix=Decimal(0))
    a_lot(venue, ingredient=gin, amount=Decimal(20_000))
    a_recipe(venue, gin, name="Slow Tide")
    keg, tap = a_keg(venue, name="K7"), a_tap(venue, name="3")
    a_clean(venue, keg)
    a_clean(venue, tap.line)

    in_hand.goto("/batches/add/")
    in_hand.get_by_label("Recipe").select_option("Slow Tide")
    in_hand.get_by_label("Target volume").fill("18 L")
    in_hand.get_by_role("button", name="Scale the recipe").click()
    expect(in_hand.get_by_text("exactly 6000 ml")).to_be_visible()
    in_hand.get_by_role("button", name="Record it").click()

    in_hand.get_by_role("link", name="Fill a keg").click()
    in_hand.get_by_role("combobox", name="Keg").select_option("Keg K7")
    in_hand.get_by_label("Volume").fill("17 L")
    in_hand.get_by_label("Pressure set, gauge").fill("30 psi")
    in_hand.get_by_label("Temperature of the drink").fill("36 F")
    in_hand.get_by_role("button", name="Look first").click()
    expect(in_hand.get_by_text("Nothing on record stops it.")).to_be_visible()
    assert Fill.objects.count() == 0
    in_hand.get_by_role("button", name="Fill the keg").click()

    in_hand.get_by_role("link", name="Tap it").click()
    in_hand.get_by_role("combobox", name="Tap").select_option("Tap 3")
    in_hand.get_by_role("button", name="Tap the keg").click()
    expect(in_hand.get_by_text("Recorded: Keg K7 is on Tap 3.")).to_be_visible()
    assert Tapping.objects.get().fill.keg == keg


def test_a_keg_is_held_with_a_reason(in_hand, venue):
    fill = a_fill(venue)
    in_hand.goto(fill.get_absolute_url())
    in_hand.get_by_role("link", name="Hold").click()
    in_hand.get_by_label("Reason").fill("Smells odd")
    in_hand.get_by_role("button", name="Put on hold").click()
    expect(in_hand.get_by_text("On hold: Smells odd")).to_be_visible()


def test_every_page_passes_the_rules_of_accessibility_and_fits_the_phone(in_hand, venue):
    fill = a_tapping(venue).fill
    made = a_preparation(venue)
    a_lot(venue)
    pages = (
        "/batches/",
        "/batches/fills/",
        "/batches/preparations/",
        "/batches/recipes/",
        fill.get_absolute_url(),
        fill.batch.get_absolute_url(),
        fill.batch.recipe.get_absolute_url(),
        made.get_absolute_url(),
        f"{fill.batch.recipe.get_absolute_url()}scale/?volume=18+L",
        f"{fill.batch.get_absolute_url()}fill/",
        f"{fill.get_absolute_url()}discard/",
        f"{fill.get_absolute_url()}tap/",
        "/batches/preparations/add/",
        f"/batches/add/?recipe={fill.batch.recipe_id}&volume=18+L",
    )
    for address in pages:
        in_hand.goto(address)
        found = Axe().run(in_hand)
        assert found.violations_count == 0, f"{address}: {found.generate_report()}"
        width = in_hand.evaluate("document.documentElement.scrollWidth")
        assert width <= 390, f"{address} is {width} px wide"
