"""The frame as people meet it: on a phone, on a laptop, by keyboard, in the dark, on paper.

Rules of accessibility come from axe-core 4.12 (Deque), which tests against WCAG 2.2.
"""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.frame.guide_urls import serve_guide

PAGES = [
    "/",
    "/verdict/pour",
    "/verdict/ask",
    "/verdict/stop",
    "/form",
    "/sign-in",
    "/message/403",
    "/message/404",
    "/message/429",
    "/message/500",
    "/message/403_csrf",
]
TARGET_PX = 48
WHAT_IS_PRESSED = ", ".join(
    [
        ".btn",
        ".quiet-button",
        ".nav-entries > li > a",
        "summary",
        ".form-check",
        "input[type=text]",
        "select",
        ".card-list > li",
    ]
)


@pytest.fixture(autouse=True)
def _guide(settings):
    serve_guide(settings)


def _open(page: Page, address: str, colours: str = "light") -> Page:
    page.emulate_media(color_scheme=colours)
    page.goto(address)
    return page


def _violations(page: Page) -> list[str]:
    found = Axe().run(page).response["violations"]
    return [f"{each['id']}: {node['html'][:160]}" for each in found for node in each["nodes"]]


@pytest.mark.parametrize("colours", ["light", "dark"])
@pytest.mark.parametrize("held", ["phone", "desk"])
def test_every_page_of_the_frame_passes_the_accessibility_rules(held, colours, request):
    page = request.getfixturevalue(held)
    found = {address: _violations(_open(page, address, colours)) for address in PAGES}
    assert {address: each for address, each in found.items() if each} == {}


@pytest.mark.parametrize("address", PAGES)
def test_no_page_scrolls_sideways_on_a_phone(phone, address):
    _open(phone, address)
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390


def test_what_a_wet_thumb_presses_is_big_enough(phone):
    _open(phone, "/")
    boxes = [
        (each.evaluate("e => e.outerHTML.slice(0, 90)"), each.bounding_box())
        for each in phone.locator(WHAT_IS_PRESSED).all()
        if each.is_visible()
    ]
    assert len(boxes) > 20
    assert [html for html, box in boxes if box["height"] < TARGET_PX] == []


def test_the_word_of_a_verdict_is_readable_at_arms_length(phone):
    _open(phone, "/verdict/stop")
    word = phone.locator(".verdict-word")
    expect(word).to_be_in_viewport()
    size = word.evaluate("e => parseFloat(getComputedStyle(e).fontSize)")
    assert size >= 40


def test_use_by_and_allergens_are_in_sight_without_scrolling(phone):
    _open(phone, "/verdict/stop")
    expect(phone.get_by_text("Almond, celery, sulphites")).to_be_in_viewport()


def test_the_rest_of_the_navigation_opens_and_closes(phone):
    _open(phone, "/verdict/pour")
    reports = phone.locator(".nav-sheet a", has_text="Reports")
    expect(reports).to_be_hidden()
    phone.get_by_text("More", exact=True).tap()
    expect(reports).to_be_visible()
    phone.keyboard.press("Escape")
    expect(reports).to_be_hidden()


def test_a_keyboard_reaches_the_content_past_the_navigation(desk):
    _open(desk, "/verdict/pour")
    desk.keyboard.press("Tab")
    expect(desk.get_by_text("Skip to the content")).to_be_focused()
    desk.keyboard.press("Enter")
    expect(desk.locator("main")).to_be_focused()


def _ground(page: Page) -> str:
    return page.evaluate("getComputedStyle(document.body).backgroundColor")


def test_colours_follow_the_device_until_a_person_chooses(desk):
    _open(desk, "/verdict/pour", "dark")
    dark = _ground(desk)
    _open(desk, "/verdict/pour", "light")
    light = _ground(desk)
    assert dark != light
    switch = desk.locator(".nav-account [data-theme-switch]")
    expect(switch).to_have_text("Colours: as the device")
    switch.click()
    switch.click()
    expect(switch).to_have_text("Colours: dark")
    assert _ground(desk) == dark
    desk.reload()
    assert _ground(desk) == dark


def test_the_dark_colours_need_no_script(new_context, live_server):
    context = new_context(java_script_enabled=False, color_scheme="dark")
    page = context.new_page()
    page.goto(live_server.url + "/form")
    picture = page.locator("body").screenshot()
    context_light = new_context(java_script_enabled=False, color_scheme="light")
    page_light = context_light.new_page()
    page_light.goto(live_server.url + "/form")
    assert picture != page_light.locator("body").screenshot()


def test_a_form_works_without_script(new_context, live_server):
    page = new_context(java_script_enabled=False).new_page()
    page.goto(live_server.url + "/form")
    _fill(page, strength="200")
    page.get_by_role("button", name="Record the clean").click()
    expect(page.get_by_role("alert")).to_contain_text('"200" has no unit.')


def _fill(page: Page, *, strength: str) -> None:
    page.get_by_label("Keg 7").check()
    page.get_by_label("Detergent").select_option("a")
    page.get_by_label("Strength").fill(strength)
    page.get_by_label("Contact time").fill("10 min")
    page.get_by_label("Rinsed until").check()


def test_after_a_mistake_the_summary_is_read_first_and_leads_to_the_field(phone):
    _open(phone, "/form")
    _fill(phone, strength="200")
    phone.get_by_role("button", name="Record the clean").tap()
    expect(phone.locator(".error-summary")).to_be_focused()
    phone.locator(".error-summary a").tap()
    expect(phone.get_by_label("Strength")).to_be_focused()
    expect(phone.get_by_label("Strength")).to_have_value("200")


def test_a_form_pressed_twice_is_sent_once(phone):
    _open(phone, "/form")
    _fill(phone, strength="200 ppm")
    sent = []
    phone.on("request", lambda request: sent.append(request.url) if request.method == "POST" else 0)
    phone.route("**/form", lambda route: phone.wait_for_timeout(300) or route.continue_())
    phone.get_by_role("button", name="Record the clean").dblclick()
    expect(phone.get_by_role("status")).to_contain_text("Recorded: keg 7 was cleaned.")
    assert len(sent) == 1


def test_words_typed_without_a_network_stay_and_are_offered_again(phone):
    _open(phone, "/form")
    _fill(phone, strength="200 ppm")
    phone.context.set_offline(True)
    phone.get_by_role("button", name="Record the clean").tap()
    expect(phone.get_by_role("alert")).to_contain_text("No network: nothing was recorded.")
    expect(phone.get_by_label("Strength")).to_have_value("200 ppm")
    phone.context.set_offline(False)
    phone.goto("/form")
    expect(phone.get_by_label("Strength")).to_have_value("")
    phone.get_by_role("button", name="Put it back").tap()
    expect(phone.get_by_label("Strength")).to_have_value("200 ppm")
    expect(phone.get_by_label("Keg 7")).to_be_checked()


def test_words_that_were_recorded_are_not_offered_again(phone):
    _open(phone, "/form")
    _fill(phone, strength="200 ppm")
    phone.get_by_role("button", name="Record the clean").tap()
    expect(phone.get_by_role("status")).to_contain_text("Recorded: keg 7 was cleaned.")
    phone.goto("/verdict/pour")
    phone.goto("/form")
    expect(phone.get_by_role("button", name="Put it back")).to_have_count(0)


def test_words_of_one_person_are_gone_when_they_sign_out(phone):
    _open(phone, "/form")
    _fill(phone, strength="200 ppm")
    phone.get_by_text("More", exact=True).tap()
    phone.get_by_role("button", name="Sign out").tap()
    expect(phone.get_by_role("heading", name="Sign in")).to_be_visible()
    phone.goto("/form")
    expect(phone.get_by_role("button", name="Put it back")).to_have_count(0)


def test_a_password_is_never_kept_on_the_device(phone):
    _open(phone, "/sign-in")
    phone.get_by_label("Password").fill("correct horse")
    kept = phone.evaluate("JSON.stringify(sessionStorage) + JSON.stringify(localStorage)")
    assert "correct horse" not in kept


def test_paper_shows_what_a_screen_folds_and_nothing_to_press(desk):
    _open(desk, "/verdict/stop", "dark")
    desk.emulate_media(media="print", color_scheme="dark")
    desk.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    expect(desk.get_by_text("The line was cleaned 6 days ago")).to_be_visible()
    expect(desk.locator("nav")).to_be_hidden()
    expect(desk.get_by_text("Check another keg")).to_be_hidden()
    ink = desk.locator("h1").evaluate("e => getComputedStyle(e).color")
    assert re.findall(r"\d+", ink) == ["0", "0", "0"]
