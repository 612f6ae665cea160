"""The stock room on a phone in one hand: receive, open, hold, pick, import.

Rules of accessibility come from axe-core 4.12 (Deque), which tests against WCAG 2.2.
"""

from datetime import timedelta
from decimal import Decimal

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.utils import timezone
from playwright.sync_api import Page, expect

from kegsafe.stock import services
from kegsafe.stock.importing.delivery_file import sample
from kegsafe.stock.models import Ingredient, Lot
from kegsafe.venues.models import Role
from tests.builders import a_lot, a_person, a_place, a_recorder, a_supplier, a_venue, an_ingredient


@pytest.fixture
def venue(transactional_db):
    venue = a_venue()
    a_supplier(venue, name="Harbour Fruit Company")
    an_ingredient(venue, name="Lime juice", category="acid_citrus_juice")
    a_place(venue, name="Walk-in")
    return venue


@pytest.fixture
def in_hand(phone, sign_in, venue) -> Page:
    """A phone on which a manager of the bar is signed in."""
    sign_in(phone, a_person(venue, Role.MANAGER))
    return phone


def test_a_delivery_of_two_lots_is_received_at_the_door(in_hand, venue):
    in_hand.goto("/stock/deliveries/add/")
    in_hand.get_by_role("combobox", name="Supplier").select_option("Harbour Fruit Company")
    first = in_hand.get_by_role("group", name="Lot 1")
    first.get_by_label("Ingredient").fill("lime juice")
    first.get_by_label("Quantity").fill("5 L")
    first.get_by_label("Date on the pack says").select_option("Use by")
    day = timezone.localdate() + timedelta(days=6)
    first.locator("[type=date]").fill(day.isoformat())
    in_hand.get_by_role("button", name="Add another lot").click()
    second = in_hand.get_by_role("group", name="Lot 2")
    second.get_by_label("Ingredient").fill("Lime juice")
    second.get_by_label("Quantity").fill("700 ml")
    second.get_by_label("Date on the pack says").select_option("No date on it")
    second.get_by_label("Reject", exact=True).check()
    second.get_by_label("Why held or rejected").fill("Leaking")
    in_hand.get_by_role("button", name="Record the delivery").click()
    expect(
        in_hand.get_by_text("Recorded: the delivery from Harbour Fruit Company.")
    ).to_be_visible()
    assert sorted(Lot.objects.values_list("status", "amount_received")) == [
        ("accepted", Decimal(5000)),
        ("rejected", Decimal(700)),
    ]


def test_a_pack_is_opened_with_one_press_and_held_with_a_reason(in_hand, venue):
    lot = a_lot(venue, ingredient=Ingredient.objects.get())
    in_hand.goto(lot.get_absolute_url())
    in_hand.get_by_role("button", name="Opened now").click()
    expect(in_hand.get_by_text("was opened.")).to_be_visible()
    in_hand.get_by_role("link", name="Hold").click()
    in_hand.get_by_label("Reason").fill("Cap loose")
    in_hand.get_by_role("button", name="Put on hold").click()
    expect(in_hand.get_by_role("region", name="How it stands")).to_contain_text("On hold")
    lot.refresh_from_db()
    assert (lot.status, lot.status_reason) == (Lot.Status.ON_HOLD, "Cap loose")


def test_a_file_is_looked_at_and_imported(in_hand, venue):
    in_hand.goto("/stock/deliveries/import/")
    content = sample().encode()
    in_hand.get_by_label("CSV file").set_input_files(
        {"name": "april.csv", "mimeType": "text/csv", "buffer": content}
    )
    in_hand.get_by_role("button", name="Look at the rows").click()
    in_hand.get_by_role("button", name="Import 1 lot").click()
    expect(in_hand.get_by_text("Recorded: 1 lot was imported.")).to_be_visible()
    assert Lot.objects.count() == 1


def test_ingredients_are_picked_from_the_catalogue(in_hand, venue):
    in_hand.goto("/stock/ingredients/catalogue/?q=vodka")
    in_hand.get_by_label("Vodka, potato or grape").check()
    in_hand.get_by_role("button", name="Add what is ticked").click()
    expect(in_hand.get_by_text("1 ingredient was added")).to_be_visible()
    assert Ingredient.objects.filter(name="Vodka, potato or grape").exists()


@pytest.mark.parametrize("held", ["phone", "desk"])
def test_every_page_fits_its_screen_and_breaks_no_rule_of_accessibility(
    held, request, sign_in, venue
):
    page = request.getfixturevalue(held)
    sign_in(page, a_person(venue, Role.MANAGER))
    for url in every_page(venue):
        page.goto(url)
        width = page.viewport_size["width"]
        assert page.evaluate("document.documentElement.scrollWidth") <= width, url
        broken = Axe().run(page).response["violations"]
        assert (url, [(each["id"], each["nodes"][0]["html"]) for each in broken]) == (url, [])


def every_page(venue) -> list[str]:
    """Return the address of every page of the stock room, with something on it."""
    by = a_recorder(venue)
    lot = a_lot(venue, use_by=timezone.localdate() + timedelta(days=1))
    held = a_lot(venue)
    services.hold_lot(lot=held, reason="Cap loose", by=by)
    kept = services.keep_file(
        venue=venue,
        name="april.csv",
        content=sample().replace("Lime", "Lemon").encode() + sample().splitlines()[1].encode(),
        by=by,
    )
    pages = [
        "",
        f"lots/{lot.pk}/",
        f"lots/{held.pk}/",
        *(f"lots/{lot.pk}/{act}/" for act in ("amend", "open", "hold", "discard", "freeze")),
        "deliveries/",
        "deliveries/add/",
        "deliveries/import/",
        f"deliveries/import/{kept.pk}/",
        f"deliveries/{lot.delivery_id}/",
        f"deliveries/{lot.delivery_id}/amend/",
        "ingredients/",
        "ingredients/add/",
        "ingredients/catalogue/",
        f"ingredients/{lot.ingredient_id}/",
        f"ingredients/{lot.ingredient_id}/amend/",
        f"ingredients/{lot.ingredient_id}/shelf-life/",
        f"ingredients/{lot.ingredient_id}/assessment/",
        "suppliers/",
        "suppliers/add/",
        f"suppliers/{lot.delivery.supplier_id}/amend/",
    ]
    return [f"/stock/{page}" for page in pages]
