"""A drink's whole way, as people go it: from the delivery's file to 'do not pour'.

Rules of accessibility come from axe-core 4.12 (Deque), which tests against WCAG 2.2.
"""

import csv
import io
import shutil
import subprocess
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest
import zxingcpp
from axe_playwright_python.sync_playwright import Axe
from django.contrib.auth.models import User
from django.utils import timezone
from PIL import Image
from playwright.sync_api import Page, expect

from kegsafe.cold_chain.services import record_reading
from kegsafe.stock.importing.delivery_file import SAMPLE_ROW
from kegsafe.stock.models import Lot
from kegsafe.venues.models import Role, Venue
from tests.builders import (
    PASSWORD,
    a_clean,
    a_keg,
    a_person,
    a_place,
    a_recipe,
    a_recorder,
    a_supplier,
    a_venue,
    an_ingredient,
)
from tests.surroundings import do_without


@pytest.fixture
def bar(transactional_db) -> Venue:
    """A bar with two clean kegs, a cold place read just now, and nothing in stock."""
    bar = a_venue()
    a_supplier(bar, name="Harbour Fruit Company")
    rum = an_ingredient(bar, name="White rum", abv_percent=Decimal(40), **_NOTHING_ELSE)
    an_ingredient(
        bar,
        name="Cane sugar",
        category="dry_or_low_moisture",
        measure="g",
        abv_percent=Decimal(0),
        total_so2_mg_per_l=Decimal(0),
        sugar_brix=Decimal(100),
    )
    spiced = an_ingredient(bar, name="Spiced rum syrup", category="infusion", made_in_house=True)
    a_recipe(bar, rum, spiced, name="Harbour Lamp", rest_hours=0)
    cooler = a_place(bar, name="Tap cooler")
    record_reading(
        place=cooler,
        read_at=timezone.now(),
        temperature_degc=Decimal(3),
        by=a_recorder(bar),
    )
    for name in ("K1", "K2"):
        a_clean(bar, a_keg(bar, name=name))
    return bar


_NOTHING_ELSE = {"total_so2_mg_per_l": Decimal(0), "sugar_brix": Decimal(0)}


@pytest.fixture
def looked_at() -> Callable[[Page], None]:
    """Hold a page against the rules of accessibility, and against the width of its screen."""

    def look(page: Page) -> None:
        found = Axe().run(page)
        assert found.violations_count == 0, f"{page.url}: {found.generate_report()}"
        width = page.evaluate("document.documentElement.scrollWidth")
        assert width <= page.viewport_size["width"], f"{page.url} is {width} px wide"

    return look


def test_a_drink_goes_from_its_delivery_to_do_not_pour(bar, desk, phone, looked_at, tmp_path):
    manager, staff = a_person(bar, Role.MANAGER, name="juno"), a_person(bar, name="wren")
    _sign_in(desk, manager, looked_at)
    _sign_in(phone, staff, looked_at)

    _import_a_file_with_two_broken_rows(desk, looked_at)
    assert sorted(Lot.objects.values_list("ingredient__name", flat=True)) == [
        "Cane sugar",
        "White rum",
    ]
    _make_a_syrup(phone, looked_at)
    _make_a_batch(phone, looked_at)
    _fill(phone, "K1", looked_at)
    _fill(phone, "K2", looked_at)

    first, second = _addresses_on(_print_labels(desk, looked_at), tmp_path)
    assert first != second
    phone.goto(first)
    looked_at(phone)
    expect(phone.get_by_role("heading", level=1)).to_contain_text("K1")
    expect(phone.get_by_text("Pour", exact=True)).to_be_visible()

    _hold(desk, first, "Guest found glass", looked_at)
    phone.goto(first)
    looked_at(phone)
    expect(phone.get_by_text("Do not pour", exact=True)).to_be_visible()
    expect(phone.get_by_text("On hold: Guest found glass").first).to_be_visible()
    phone.goto(second)
    expect(phone.get_by_text("Pour", exact=True)).to_be_visible()


def _sign_in(page: Page, person: User, looked_at: Callable[[Page], None]) -> None:
    page.goto("/")
    looked_at(page)
    page.get_by_label("Username").fill(person.username)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", name="Today", exact=True)).to_be_visible()
    looked_at(page)


def _import_a_file_with_two_broken_rows(page: Page, looked_at: Callable[[Page], None]) -> None:
    page.goto("/stock/deliveries/import/")
    looked_at(page)
    page.get_by_label("CSV file").set_input_files(
        {"name": "april.csv", "mimeType": "text/csv", "buffer": _delivery_file().encode()}
    )
    page.get_by_role("button", name="Look at the rows").click()
    expect(page.get_by_text("2 rows can be imported")).to_be_visible()
    expect(page.get_by_role("rowheader", name="Line 3")).to_be_visible()
    expect(page.get_by_role("rowheader", name="Line 5")).to_be_visible()
    looked_at(page)
    page.get_by_role("button", name="Import 2 lots").click()
    expect(page.get_by_text("2 lots were imported")).to_be_visible()
    looked_at(page)


def _delivery_file() -> str:
    """Two good rows, one whose amount has no unit and one whose day does not exist."""
    good = SAMPLE_ROW | {"arrival_temperature": "", "place": "", "date_kind": "none", "date": ""}
    rows = (
        good | {"ingredient": "White rum", "quantity": "30 L"},
        good | {"ingredient": "White rum", "quantity": "30"},
        good | {"ingredient": "Cane sugar", "quantity": "20 kg"},
        good | {"ingredient": "Cane sugar", "quantity": "5 kg", "date_received": "2026-02-30"},
    )
    out = io.StringIO()
    writer = csv.DictWriter(out, fieldnames=list(SAMPLE_ROW))
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def _make_a_syrup(page: Page, looked_at: Callable[[Page], None]) -> None:
    page.goto("/batches/preparations/add/")
    page.get_by_label("What was made").select_option("Spiced rum syrup")
    page.get_by_label("How much came of it").fill("15 L")
    _draw(page, 0, "White rum", "5 L")
    _draw(page, 1, "Cane sugar", "6 kg")
    looked_at(page)
    page.get_by_role("button", name="Record it").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Spiced rum syrup")
    looked_at(page)


def _draw(page: Page, line: int, ingredient: str, amount: str) -> None:
    lot = page.locator(f"[name=draw-{line}-lot]")
    option = lot.locator("option", has_text=ingredient)
    lot.select_option(option.get_attribute("value"))
    page.locator(f"[name=draw-{line}-amount]").fill(amount)


def _make_a_batch(page: Page, looked_at: Callable[[Page], None]) -> None:
    page.goto("/batches/add/")
    looked_at(page)
    page.get_by_label("Recipe").select_option("Harbour Lamp")
    page.get_by_label("Target volume").fill("36 L")
    page.get_by_role("button", name="Scale the recipe").click()
    looked_at(page)
    page.get_by_role("button", name="Record it").click()
    expect(page.get_by_role("link", name="Fill a keg")).to_be_visible()
    looked_at(page)


def _fill(page: Page, keg: str, looked_at: Callable[[Page], None]) -> None:
    page.goto("/batches/")
    page.get_by_role("link", name="Harbour Lamp").click()
    page.get_by_role("link", name="Fill a keg").click()
    page.get_by_role("combobox", name="Keg").select_option(f"Keg {keg}")
    page.get_by_label("Volume").fill("17.5 L")
    page.get_by_label("Put where").select_option("Tap cooler")
    page.get_by_label("Pressure set, gauge").fill("30 psi")
    page.get_by_label("Temperature of the drink").fill("36 F")
    page.get_by_role("button", name="Look first").click()
    expect(page.get_by_text("Nothing on record stops it.")).to_be_visible()
    looked_at(page)
    page.get_by_role("button", name="Fill the keg").click()
    expect(page.get_by_role("link", name="Pour check").first).to_be_visible()
    looked_at(page)


def _print_labels(page: Page, looked_at: Callable[[Page], None]) -> bytes:
    """Tick both kegs and return the PDF that the press of the button asks for."""
    page.goto("/labels/")
    looked_at(page)
    page.get_by_label("Keg K1").check()
    page.get_by_label("Keg K2").check()
    page.get_by_label("Roll, 100 x 150 mm").check()
    with page.expect_request(lambda request: "/labels/?" in request.url) as asked:
        page.get_by_role("button", name="Show the labels").click()
    return page.request.get(asked.value.url).body()


def _addresses_on(labels: bytes, folder: Path) -> list[str]:
    """Print the labels, as a printer of 203 dots to the inch does, and read their QR codes."""
    if shutil.which("pdftoppm") is None:
        do_without("No pdftoppm was found (Debian: poppler-utils): no printed QR code was read.")
    (folder / "labels.pdf").write_bytes(labels)
    subprocess.run(["pdftoppm", "-r", "203", "-png", "labels.pdf", "label"], cwd=folder, check=True)
    found = [
        code.text
        for page in sorted(folder.glob("label*.png"))
        for code in zxingcpp.read_barcodes(Image.open(page))
    ]
    assert len(found) == 2
    return found


def _hold(page: Page, address: str, reason: str, looked_at: Callable[[Page], None]) -> None:
    page.goto(address)
    page.locator("summary", has_text="Put on hold").click()
    looked_at(page)
    page.get_by_label("Why is it held?").fill(reason)
    page.get_by_role("button", name="Put this keg on hold").click()
    expect(page.get_by_text(f"On hold: {reason}").first).to_be_visible()
