"""A calculator in the hand: the answer comes as somebody types, and nothing else moves."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from tests.builders import a_person, a_venue

pytestmark = pytest.mark.django_db(transaction=True)

# Milliseconds: long enough that an answer asked for by the press itself would come before its end
# and take the link from under the finger.
A_SLOW_PRESS = 500


@pytest.fixture
def staff():
    return a_person(a_venue(units="metric"))


def test_the_answer_appears_while_typing_and_the_address_keeps_it(phone, sign_in, staff):
    sign_in(phone, staff)
    phone.goto("/calculators/carbonation/")
    phone.get_by_label("Temperature of the drink").press_sequentially("2 degC")
    expect(phone.locator("#answer")).to_contain_text("Still needed: Gauge pressure")
    phone.get_by_label("Gauge pressure of the CO2").press_sequentially("50 psi")
    expect(phone.locator("#answer")).to_contain_text("6.79 volumes")
    expect(phone).to_have_url(re.compile(r"temperature=2\+degC"))
    phone.reload()
    expect(phone.locator("#answer")).to_contain_text("6.79 volumes")


def test_the_plot_is_drawn_beside_the_answer(desk, sign_in, staff):
    sign_in(desk, staff)
    desk.goto("/calculators/carbonation/?temperature=2+degC&pressure=50+psi")
    drawn = desk.locator(".plot img")
    expect(drawn).to_be_visible()
    assert drawn.evaluate("picture => picture.complete && picture.naturalWidth") == 580


def test_a_list_is_answered_as_it_is_typed(desk, sign_in, staff):
    sign_in(desk, staff)
    desk.goto("/calculators/blend-alcohol/")
    desk.get_by_label("Parts of the blend").fill("700 ml, 40 %\n300 ml, 0 %")
    expect(desk.locator("#answer")).to_contain_text("28.04 % vol")


def test_a_mistake_leads_to_its_field(phone, sign_in, staff):
    sign_in(phone, staff)
    phone.goto("/calculators/carbonation/")
    phone.get_by_label("Temperature of the drink").fill("50 psi")
    link = phone.get_by_role("link", name="Temperature of the drink")
    link.click(delay=A_SLOW_PRESS)
    expect(phone.get_by_label("Temperature of the drink")).to_be_in_viewport()


@pytest.mark.parametrize("name", ["", "carbonation/", "gas-release/", "warm-up/"])
def test_a_phone_never_scrolls_sideways(phone, sign_in, staff, name):
    sign_in(phone, staff)
    phone.goto(f"/calculators/{name}")
    if name:
        phone.get_by_role("link", name="Fill in an example").click()
        expect(phone.locator("#answer dl").first).to_be_visible()
    wide = phone.evaluate("document.documentElement.scrollWidth - window.innerWidth")
    assert wide <= 0


@pytest.mark.parametrize("colours", ["light", "dark"])
@pytest.mark.parametrize("name", ["", "carbonation/", "sulphite/", "warm-up/"])
def test_every_kind_of_page_passes_the_accessibility_rules(desk, sign_in, staff, name, colours):
    """axe-core 4.12 (Deque), against WCAG 2.2."""
    sign_in(desk, staff)
    desk.emulate_media(color_scheme=colours)
    desk.goto(f"/calculators/{name}")
    if name:
        desk.get_by_role("link", name="Fill in an example").click()
    found = Axe().run(desk).response["violations"]
    nodes = [(each["id"], node["html"][:160]) for each in found for node in each["nodes"]]
    assert nodes == []
