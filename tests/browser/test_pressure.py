"""Pressure equipment as people hold it: a check on a phone, the owner's audit at a desk.

Rules of accessibility come from axe-core 4.12 (Deque), which tests against WCAG 2.2.
"""

from decimal import Decimal

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from kegsafe.pressure import services
from kegsafe.pressure.models import Check, Document, Item
from kegsafe.venues.models import Role, Venue
from tests.builders import a_clean, a_fill, a_keg, a_person, a_recorder, a_venue

PDF = b"%PDF-1.4\n1 0 obj <<>> endobj\ntrailer <<>>\n%%EOF\n"


@pytest.fixture
def venue(transactional_db) -> Venue:
    """A bar with a keg, the relief valve on its lid, and a cylinder in a small cellar."""
    venue = a_venue()
    by = a_recorder(venue)
    keg = a_keg(venue, name="K7")
    services.add_item(
        venue=venue,
        kind="relief_valve",
        name="RV1",
        keg=keg,
        relief_gauge_pa=Decimal(700_000),
        by=by,
    )
    room = services.add_gas_room(venue=venue, name="Cellar", volume_m3=Decimal(40), by=by)
    services.add_item(
        venue=venue, kind="cylinder", name="C1", room=room, charge_g=Decimal(10_000), by=by
    )
    return venue


@pytest.fixture
def in_hand(phone, sign_in, venue) -> Page:
    """A phone on which somebody of the staff is signed in."""
    sign_in(phone, a_person(venue, Role.STAFF))
    return phone


@pytest.fixture
def at_desk(desk, sign_in, venue) -> Page:
    """A laptop at which the owner is signed in."""
    sign_in(desk, a_person(venue, Role.OWNER))
    return desk


def _check(page: Page, valve: Item, *, lifts: str) -> None:
    page.goto(f"/pressure/items/{valve.pk}/check/?check=before_fill")
    answers = {
        "Lifts by hand and reseats": lifts,
        "Clean: no sticky drink": "Passed",
        "Set pressure can be read": "Passed",
    }
    for point, answer in answers.items():
        page.get_by_role("group", name=point).get_by_label(answer, exact=True).check()
    page.get_by_role("button", name="Record the check").click()
    expect(page.get_by_text("Recorded: Lift, reseat, clean")).to_be_visible()


def test_a_failed_relief_valve_leads_to_do_not_pour_and_a_passing_check_lifts_it(in_hand, venue):
    valve = Item.objects.get(kind="relief_valve")
    keg_page = f"/pressure/kegs/{valve.keg_id}/"
    _check(in_hand, valve, lifts="Failed")
    in_hand.goto(keg_page)
    expect(in_hand.get_by_text("Do not pour")).to_be_visible()
    expect(in_hand.get_by_text("Relief valve RV1 on its lid is out of service")).to_be_visible()
    _check(in_hand, valve, lifts="Passed")
    in_hand.goto(keg_page)
    expect(in_hand.get_by_text("Do not pour")).to_have_count(0)
    assert list(Check.objects.order_by("pk").values_list("outcome", flat=True)) == ["fail", "pass"]


def test_a_failed_relief_valve_stops_the_pour_on_the_page_of_its_keg(in_hand, venue):
    valve = Item.objects.get(kind="relief_valve")
    a_clean(venue, valve.keg)
    a_fill(venue, keg=valve.keg)
    pour_page = f"/pour/{valve.keg.label_code}/"
    _check(in_hand, valve, lifts="Failed")
    in_hand.goto(pour_page)
    expect(in_hand.locator(".verdict-word")).to_have_text("Do not pour")
    expect(in_hand.locator(".verdict-reason")).to_contain_text("Relief valve RV1")
    _check(in_hand, valve, lifts="Passed")
    in_hand.goto(pour_page)
    expect(in_hand.locator(".verdict-word")).not_to_have_text("Do not pour")


def test_an_owner_reads_the_audit_and_prints_it(at_desk):
    at_desk.goto("/pressure/")
    at_desk.get_by_role("link", name="Owner's audit").click()
    expect(at_desk.get_by_role("heading", name="Owner's audit")).to_be_visible()
    expect(
        at_desk.get_by_text("Too small: the largest cylinder makes 13.7 %").first
    ).to_be_visible()
    address = at_desk.get_by_role("link", name="Print as PDF").get_attribute("href")
    printed = at_desk.request.get(address)
    assert printed.headers["content-type"] == "application/pdf"
    assert printed.body().startswith(b"%PDF-")


def test_a_certificate_is_sent_from_a_phone_and_can_be_saved_again(in_hand, venue):
    valve = Item.objects.get(kind="relief_valve")
    in_hand.goto(f"/pressure/items/{valve.pk}/")
    in_hand.get_by_role("link", name="Add a file").click()
    in_hand.get_by_label("What it is").select_option("certificate")
    sent = {"name": "valve.pdf", "mimeType": "application/pdf", "buffer": PDF}
    in_hand.get_by_label("File", exact=False).set_input_files(sent)
    in_hand.get_by_role("button", name="Keep the file").click()
    with in_hand.expect_download() as saved:
        in_hand.get_by_role("link", name="valve.pdf").click()
    assert saved.value.suggested_filename == "valve.pdf"
    assert Document.objects.get().sha256


@pytest.mark.parametrize(
    "path",
    [
        "/pressure/",
        "/pressure/items/{item}/",
        "/pressure/items/{item}/check/",
        "/pressure/kegs/{keg}/",
        "/pressure/items/add/?kind=cylinder",
        "/pressure/gas/",
        "/pressure/rooms/{room}/",
        "/pressure/rooms/{room}/sign/",
        "/pressure/audit/",
    ],
)
def test_every_page_can_be_read_by_everybody_and_fits_the_screen(phone, sign_in, venue, path):
    sign_in(phone, a_person(venue, Role.OWNER))
    cylinder = Item.objects.get(kind="cylinder")
    keg = Item.objects.get(kind="relief_valve").keg_id
    phone.goto(path.format(item=cylinder.pk, keg=keg, room=cylinder.room_id))
    found = Axe().run(phone)
    assert [fault["id"] for fault in found.response["violations"]] == []
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390
