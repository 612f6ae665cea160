"""Words that nobody should type: endless, right to left, markup. The page stays whole."""

import pytest
from playwright.sync_api import Page, expect

from kegsafe.stock.models import Ingredient
from kegsafe.venues.models import Role
from tests.builders import (
    a_batch,
    a_keg,
    a_lot,
    a_person,
    a_place,
    a_recipe,
    a_supplier,
    a_venue,
    an_ingredient,
)

ENDLESS = "W" * 120
MARKUP = "<img src=x onerror=alert(1)><b>gin</b>"
RIGHT_TO_LEFT = "מיץ ליים טרי 🍸 عصير الليمون"

# How far anything sticks out of the screen.
_TOO_WIDE = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


@pytest.fixture
def venue(transactional_db):
    venue = a_venue(name=ENDLESS)
    for name in (ENDLESS, MARKUP, RIGHT_TO_LEFT):
        a_lot(venue, ingredient=an_ingredient(venue, name=name), supplier_lot_code=name[:80])
        a_supplier(venue, name=name)
        a_place(venue, name=name[:80])
        a_keg(venue, name=name[:40])
    recipe = a_recipe(venue, *Ingredient.objects.all(), name=ENDLESS)
    a_batch(venue, *venue.lots.all(), recipe=recipe)
    return venue


def _addresses(venue) -> list[str]:
    records = [
        venue.recipes.get(),
        venue.batches.get(),
        venue.kegs.first(),
        venue.ingredients.get(name=ENDLESS),
        venue.lots.filter(ingredient__name=ENDLESS).first(),
    ]
    lists = "/ /batches/ /batches/recipes/ /stock/ /stock/ingredients/ /stock/deliveries/"
    more = "/stock/suppliers/ /equipment/ /equipment/places/ /venue/ /ledger/ /batches/add/"
    kegs = f"/equipment/kegs/{venue.kegs.first().pk}/move/"
    return [*lists.split(), *more.split(), kegs, *(each.get_absolute_url() for each in records)]


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_no_name_is_too_long_for_any_page(request, sign_in, venue, size):
    screen: Page = request.getfixturevalue(size)
    sign_in(screen, a_person(venue, Role.OWNER))
    too_wide = {}
    for address in _addresses(venue):
        screen.goto(address)
        too_wide[address] = screen.evaluate(_TOO_WIDE)
    assert {address: by for address, by in too_wide.items() if by > 0} == {}


def test_markup_in_a_name_is_shown_and_does_nothing(phone, sign_in, venue):
    said: list[str] = []
    phone.on("dialog", lambda dialog: said.append(dialog.message) or dialog.dismiss())
    sign_in(phone, a_person(venue, Role.OWNER))
    phone.goto("/stock/ingredients/")
    expect(phone.get_by_role("link", name=MARKUP)).to_be_visible()
    assert phone.locator("main img").count() == 0
    assert said == []
