"""A manager makes a pack; an inspector reads it by link and by file, and checks the file."""

import io
import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect
from pypdf import PdfReader

from kegsafe.venues.models import Role
from tests.builders import a_fill, a_person, a_venue

pytestmark = pytest.mark.django_db(transaction=True)

MAKING_MS = 60_000


def violations(page) -> list[tuple[str, str]]:
    """axe-core 4.12 (Deque), against WCAG 2.2."""
    found = Axe().run(page).response["violations"]
    return [(each["id"], node["html"][:160]) for each in found for node in each["nodes"]]


def test_a_manager_makes_a_pack_and_an_inspector_reads_it(desk, phone, sign_in, tmp_path):
    venue = a_venue()
    fill = a_fill(venue)
    sign_in(desk, a_person(venue, Role.MANAGER))
    desk.goto("/inspection/")
    desk.get_by_role("link", name="Make a pack").first.click()
    desk.get_by_role("button", name="Make the pack").click()
    desk.wait_for_url(re.compile(r"/inspection/packs/\d+/"), timeout=MAKING_MS)
    assert violations(desk) == []
    desk.get_by_role("link", name="Make a link").click()
    desk.get_by_label("Who it is for").fill("I. Vale, food office")
    desk.get_by_role("button", name="Make the link").click()
    address = desk.locator(".pack-link code").inner_text()
    assert violations(desk) == []

    phone.goto(address)
    expect(phone.get_by_role("heading", name="Inspection pack")).to_be_visible()
    expect(phone.get_by_role("link", name="Pour check")).to_have_count(0)
    assert violations(phone) == []
    with phone.expect_download() as download:
        phone.get_by_role("link", name="Keep it as a file").click()
    file = tmp_path / "pack.pdf"
    download.value.save_as(file)
    text = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(file.read_bytes())).pages)
    assert fill.batch.code in text

    phone.get_by_role("link", name="Send the file back here").click()
    phone.get_by_label("The pack").set_input_files(file)
    phone.get_by_role("button", name="Check the file").click()
    expect(phone.get_by_role("heading", name="Unaltered")).to_be_visible()
    assert violations(phone) == []

    desk.get_by_role("link", name="Back to the pack").click()
    expect(desk.get_by_text("last opened")).to_be_visible()
    desk.get_by_role("button", name="End it now").click()
    expect(desk.get_by_text("It opens nothing any more")).to_be_visible()
    assert phone.goto(address).status == 404
