"""A supplier rings: from the code on the pack to every keg, and from a keg back to every lot.

Rules of accessibility come from axe-core 4.12 (Deque), which tests against WCAG 2.2.
"""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from kegsafe.venues.models import Role, Venue
from tests.builders import a_person, a_venue
from tests.tracing.bar import Bar, a_traced_bar

ENDLESS = "W" * 110
_TOO_WIDE = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


@pytest.fixture
def venue(transactional_db) -> Venue:
    return a_venue()


@pytest.fixture
def bar(venue) -> Bar:
    return a_traced_bar(venue)


def _wide(page: Page) -> int:
    return page.evaluate(_TOO_WIDE)


def test_from_the_suppliers_code_to_the_kegs_and_back(phone, sign_in, bar):
    sign_in(phone, a_person(bar.venue, Role.STAFF))
    phone.goto("/stock/")
    phone.get_by_role("link", name="Trace", exact=True).click()
    phone.get_by_label("Lot, supplier, batch or drink").fill("j-14")
    phone.get_by_role("button", name="Show").click()
    phone.get_by_role("link", name="Juice").click()
    expect(phone.get_by_text("It reached 2 kegs")).to_be_visible()
    drawing = phone.get_by_role("region", name="Diagram")
    assert drawing.evaluate("box => box.scrollWidth > box.clientWidth")
    assert drawing.locator("img").evaluate("image => image.complete && image.naturalWidth > 0")
    assert _wide(phone) <= 0
    phone.get_by_role("link", name=f"Keg {bar.on_tap.keg.name}").first.click()
    expect(phone.get_by_role("heading", name="Lots in it")).to_be_visible()
    expect(phone.get_by_role("link", name=f"Juice, lot {bar.juice.code}")).to_be_visible()


def test_the_workbook_and_the_event_file_come_down(desk, sign_in, bar):
    sign_in(desk, a_person(bar.venue, Role.INSPECTOR))
    desk.goto(f"/trace/lot/{bar.juice.pk}/")
    for name, ending in (("Spreadsheet for the authority", ".xlsx"), ("Event file", ".jsonld")):
        with desk.expect_download() as coming:
            desk.get_by_role("link", name=name).click()
        assert coming.value.suggested_filename.endswith(ending)


@pytest.mark.parametrize("screen", ["phone", "desk"])
def test_no_name_is_too_long_and_nothing_is_out_of_reach(request, sign_in, venue, screen):
    page: Page = request.getfixturevalue(screen)
    bar = a_traced_bar(venue, name=ENDLESS, code=ENDLESS[:80], document=ENDLESS[:80])
    sign_in(page, a_person(venue, Role.MANAGER))
    for address in ("/trace/", f"/trace/lot/{bar.juice.pk}/", f"/trace/fill/{bar.on_tap.pk}/"):
        page.goto(address)
        assert _wide(page) <= 0
        assert Axe().run(page).response["violations"] == []
