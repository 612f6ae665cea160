"""The label of a piece of pressure equipment, read back by eye and by scanner."""

import subprocess
from decimal import Decimal
from io import BytesIO

import pytest
import zxingcpp
from django.urls import reverse
from PIL import Image
from pypdf import PdfReader

from kegsafe.pressure import services
from kegsafe.reports.equipment_label import EquipmentLabel, equipment_labels_pdf
from kegsafe.reports.label_stock import STOCKS
from tests.builders import a_person, a_recorder, a_venue


def _words(content: bytes) -> str:
    return " ".join(PdfReader(BytesIO(content)).pages[0].extract_text().split())


@pytest.mark.django_db
def test_a_label_names_the_item_and_its_plate(client):
    venue = a_venue()
    item = services.add_item(
        venue=venue,
        kind="regulator",
        name="R1",
        serial="RG-77",
        rated_gauge_pa=Decimal(1_000_000),
        by=a_recorder(venue),
    )
    client.force_login(a_person(venue))
    text = _words(client.get(reverse("pressure-item-label", args=[item.pk])).content)
    # NIST SP 811 (2008), appendix B.8: 1 psi = 6894.757 Pa, so 10 bar are 145.0 psi. [memory]
    for words in ("Regulator R1", "RG-77", "145 psi (10 bar) gauge", item.label_code):
        assert words in text


@pytest.mark.django_db
def test_an_item_without_a_rating_says_so_on_its_label(client):
    venue = a_venue()
    item = services.add_item(venue=venue, kind="hose", name="H1", by=a_recorder(venue))
    client.force_login(a_person(venue))
    text = _words(client.get(reverse("pressure-item-label", args=[item.pk])).content)
    assert "not allowed under pressure" in text


@pytest.mark.parametrize("stock", STOCKS.values(), ids=lambda stock: stock.key)
def test_a_label_fits_one_page_of_every_stock(stock):
    label = EquipmentLabel(
        venue="The Copper Finch of the Long Harbour Street",
        name="Relief valve " + "N" * 40,
        particulars=tuple((f"Particular {number}", "x" * 60) for number in range(5)),
        address="https://bar.example/pressure/items/1234567/",
    )
    printed = PdfReader(BytesIO(equipment_labels_pdf([label], stock)))
    assert len(printed.pages) == 1
    assert "Particular 4" in printed.pages[0].extract_text()


def test_the_code_on_a_label_is_the_address_of_its_record(tmp_path):
    label = EquipmentLabel(
        "The Copper Finch", "Hose H1", (), "https://bar.example/pressure/items/7/"
    )
    path = tmp_path / "label.pdf"
    path.write_bytes(equipment_labels_pdf([label], STOCKS["roll-62"]))
    subprocess.run(["pdftoppm", "-r", "200", "-png", path, tmp_path / "label"], check=True)
    (picture,) = tmp_path.glob("label*.png")
    (code,) = zxingcpp.read_barcodes(Image.open(picture))
    assert code.text == label.address
