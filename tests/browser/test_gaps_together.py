"""The morning after a night nobody read, in eight fridges: one form for all of them.

Rules of accessibility come from axe-core 4.12 (Deque), which tests against WCAG 2.2.
"""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from kegsafe.cold_chain import services
from kegsafe.cold_chain.models import GapDecision
from tests.browser.test_cold_chain import Hand, looked_at
from tests.builders import a_person, a_place, a_recorder, a_venue

EIGHT = [
    *("Back bar fridge", "Walk-in", "Tap cooler, left", "Tap cooler, right", "Garnish fridge"),
    "The long low cabinet under the service station by the window",
    "مبرد البار 🍸",
    "Keg cooler",
]


@pytest.fixture
def bar(transactional_db):
    return a_venue("us_fda_2022", "America/New_York", units="metric")


@pytest.fixture
def night(bar):
    """Eight places read in the evening and in the morning, and a probe that was checked."""
    now, by = timezone.now(), a_recorder(bar)
    for name in EIGHT:
        place = a_place(bar, name=name)
        for hours_ago, degc in ((11, "3.1"), (1, "3.4")):
            services.record_reading(
                place=place,
                read_at=now - timedelta(hours=hours_ago),
                temperature_degc=Decimal(degc),
                by=by,
            )
    probe = services.add_thermometer(venue=bar, name="Probe 1", is_air=False, by=by)
    services.record_check(
        thermometer=probe, checked_at=now, method="ice_point", read_degc=Decimal("0.1"), by=by
    )


def test_a_morning_of_eight_places_takes_at_most_three_and_two_a_place(bar, night, phone, sign_in):
    sign_in(phone, a_person(bar, "manager", name="petra"))
    phone.goto("/cold/")
    phone.get_by_role("link", name="decide about all places at once").click()
    ticks = phone.get_by_role("checkbox")
    expect(ticks).to_have_count(8)
    for tick in ticks.all():
        expect(tick).not_to_be_checked()
    looked_at(phone, "together-phone")
    hand = Hand()
    for name in EIGHT:
        drink = phone.get_by_role("textbox", name=f"Temperature, the drink in {name}")
        assert drink.bounding_box()["height"] >= 44, "a wet thumb needs 44 px"
        hand.fills(drink, "3.4")
        # The drink ticks its place; without the script the second tap does.
        expect(phone.get_by_role("checkbox", name=name)).to_be_checked()
    phone.get_by_label("Measured with").select_option(label="Probe 1")
    hand.interactions += 1
    hand.fills(phone.get_by_label("What was found"), "Power on, doors shut.")
    hand.taps(phone.get_by_label("Counts as cold"))
    hand.taps(phone.get_by_role("button", name="Record for all ticked"))
    expect(phone.get_by_text("Recorded: what 8 unread stretches in 8 places")).to_be_visible()
    assert GapDecision.objects.count() == 8
    assert hand.interactions <= 3 + 2 * 8


def test_a_tick_goes_with_the_drink_that_set_it_and_stays_where_a_thumb_set_it(
    bar, night, phone, sign_in
):
    sign_in(phone, a_person(bar, "manager", name="petra"))
    phone.goto("/cold/not-read/all/")
    tick = phone.get_by_role("checkbox", name="Walk-in")
    assert tick.locator("xpath=..").bounding_box()["height"] >= 44, "a wet thumb needs 44 px"
    drink = phone.get_by_role("textbox", name="Temperature, the drink in Walk-in")
    drink.fill("3")
    drink.fill("")
    expect(tick).not_to_be_checked()
    tick.click()
    drink.fill("3")
    drink.fill("")
    expect(tick).to_be_checked()


def test_what_is_refused_stands_at_its_place_on_a_phone_and_at_a_desk(
    bar, night, phone, desk, sign_in
):
    for name, page, theme in (("phone", phone, "dark"), ("desk", desk, "light")):
        other = {"dark": "light", "light": "dark"}[theme]
        page.emulate_media(color_scheme=other)
        sign_in(page, a_person(bar, "manager", name=f"petra {name}"))
        page.goto("/cold/not-read/all/")
        looked_at(page, f"together-{name}-{other}")
        page.emulate_media(color_scheme=theme)
        looked_at(page, f"together-{name}-{theme}")
        page.get_by_role("textbox", name="the drink in Walk-in").fill("5.4")
        page.get_by_role("checkbox", name="Keg cooler").click()
        page.get_by_label("Measured with").select_option(label="Probe 1")
        page.get_by_label("What was found").fill("Power on, doors shut.")
        page.get_by_label("Counts as cold").check()
        page.get_by_role("button", name="Record for all ticked").click()
        expect(page.get_by_text("The drink measured 5.4 °C").last).to_be_visible()
        expect(page.get_by_text("measure the drink").last).to_be_visible()
        looked_at(page, f"together-refused-{name}-{theme}")
        expect(page.get_by_role("checkbox", name="Keg cooler")).to_be_checked()
    assert not GapDecision.objects.exists()
