"""From a cooler that is too warm to 'do not pour', and from a night nobody read to an answer.

Rules of accessibility come from axe-core 4.12 (Deque), which tests against WCAG 2.2.
"""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from kegsafe.batches.models import Fill
from kegsafe.cold_chain import services
from kegsafe.cold_chain.models import CorrectiveAction, GapDecision
from tests.browser.test_cold_chain import looked_at
from tests.builders import (
    a_batch,
    a_clean,
    a_fill,
    a_keg,
    a_lot,
    a_person,
    a_place,
    a_recipe,
    a_recorder,
    a_venue,
    an_ingredient,
)

AGO = timedelta(hours=12)


@pytest.fixture
def bar(transactional_db):
    return a_venue("us_fda_2022", "America/New_York")


@pytest.fixture
def cooler(bar):
    return a_place(bar, name="Tap cooler")


@pytest.fixture
def fill(bar, cooler):
    """A drink that needs its cold, filled twelve hours ago: nobody measured its pH."""
    now = timezone.now()
    spirit = an_ingredient(bar, category="spirit", total_so2_mg_per_l=Decimal(0))
    recipe = a_recipe(bar, spirit, name="Melon Verandah", measured_ph=None, measured_on=None)
    lot = a_lot(bar, ingredient=spirit, received_at=now - AGO - timedelta(hours=3))
    batch = a_batch(bar, lot, recipe=recipe, made_at=now - AGO - timedelta(hours=1))
    keg = a_keg(bar)
    a_clean(bar, keg, cleaned_at=now - AGO - timedelta(hours=2))
    return a_fill(bar, batch=batch, keg=keg, filled_at=now - AGO, rest_hours=0, place=cooler)


def read(place, hours_ago, degc):
    services.record_reading(
        place=place,
        read_at=timezone.now() - timedelta(hours=hours_ago),
        temperature_degc=Decimal(degc),
        by=a_recorder(place.venue),
    )


def test_a_warm_cooler_leads_to_a_hold_at_one_press_and_to_do_not_pour(
    bar, cooler, fill, phone, sign_in
):
    for hours_ago, degc in ((12, "3"), (9, "3"), (6, "8"), (3, "9"), (0.01, "9.5")):
        read(cooler, hours_ago, degc)
    sign_in(phone, a_person(bar, "staff", name="jonas"))
    phone.goto("/cold/")
    expect(phone.get_by_text("is above its limit")).to_be_visible()
    phone.get_by_role("link", name="What stood there").click()
    expect(phone.get_by_text("from 4 h on it is discarded")).to_be_visible()
    looked_at(phone, "warm-drinks")
    phone.get_by_role("button", name="Hold these kegs").click()
    expect(phone.get_by_text("Put on hold and recorded.")).to_be_visible()
    looked_at(phone, "warm-drinks-held")
    assert Fill.objects.get().state == "on_hold"
    assert CorrectiveAction.objects.get().what == f"Put on hold: {fill.keg.name}."
    phone.get_by_role("link", name=f"Keg {fill.keg.name}").click()
    expect(phone.get_by_text("Do not pour").first).to_be_visible()
    expect(phone.get_by_text("On hold: Tap cooler above its limit").first).to_be_visible()


def test_a_night_nobody_read_asks_until_a_manager_looked_and_decided(
    bar, cooler, fill, phone, sign_in
):
    read(cooler, 12, "3")
    read(cooler, 0.01, "3.4")
    by = a_recorder(bar)
    probe = services.add_thermometer(venue=bar, name="Probe 1", is_air=False, by=by)
    services.record_check(
        thermometer=probe,
        checked_at=timezone.now(),
        method="ice_point",
        read_degc=Decimal("0.1"),
        by=by,
    )
    sign_in(phone, a_person(bar, "manager", name="petra"))
    check = reverse("pour-check", args=[fill.keg.label_code])
    phone.goto(check)
    expect(phone.get_by_text("Ask the manager").first).to_be_visible()
    looked_at(phone, "pour-check-unread")
    phone.get_by_role("link", name="Decide").click()
    looked_at(phone, "gap")
    phone.get_by_label("What was found").fill("Power on, door shut, ice in the tray.")
    phone.get_by_role("textbox", name="Temperature, the drink").fill("37.9")
    phone.get_by_label("Measured with").select_option(label="Probe 1")
    phone.get_by_label("Counts as cold").check()
    phone.get_by_role("button", name="Record the decision").click()
    expect(phone.get_by_text("Recorded: what the unread time")).to_be_visible()
    looked_at(phone, "gaps")
    assert GapDecision.objects.get().decided_by == "petra"
    phone.goto(check)
    expect(phone.get_by_text("petra looked and counts it as cold").first).to_be_visible()
    expect(phone.locator(".verdict-word")).to_have_text("Pour")
