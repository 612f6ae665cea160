"""Labels that begin a cycle, read back by scanner and by eye."""

import subprocess
from io import BytesIO

import pytest
import zxingcpp
from PIL import Image
from pypdf import PdfReader

from kegsafe.cleaning.queries import piece_key
from tests.builders import a_line, a_person, a_tap, a_venue
from tests.cleaning.cycle_acts import a_cleaner, a_plan

pytestmark = pytest.mark.django_db


@pytest.fixture
def venue():
    return a_venue()


@pytest.fixture
def staff(client, venue):
    client.force_login(a_person(venue))
    return client


def test_scanning_a_lines_label_opens_its_cycle(staff, venue, tmp_path):
    plan, line = a_plan(venue), a_line(venue, name="3")
    a_cleaner(venue)
    path = tmp_path / "label.pdf"
    path.write_bytes(staff.get(f"/labels/cleaning/?piece=line-{line.pk}").content)
    subprocess.run(["pdftoppm", "-r", "200", "-png", path, tmp_path / "label"], check=True)
    (picture,) = tmp_path.glob("label*.png")
    (code,) = zxingcpp.read_barcodes(Image.open(picture))
    assert code.text == f"http://testserver/cleaning/start/?piece=line-{line.pk}"
    page = staff.get(code.text.removeprefix("http://testserver")).content.decode()
    assert plan.name in page
    assert f'value="line-{line.pk}"' in page


def test_all_lines_and_taps_are_printed_on_as_many_sheets_as_they_need(staff, venue):
    session = staff.session
    session["label_stock"] = "sheet-a4"
    session.save()
    taps = [a_tap(venue, name=str(number)) for number in range(5)]
    pages = PdfReader(BytesIO(staff.get("/labels/cleaning/").content)).pages
    assert len(pages) == 2  # five lines and five taps, eight to a sheet
    words = " ".join(page.extract_text() for page in pages)
    assert all(str(piece) in words for tap in taps for piece in (tap, tap.line))


def test_another_bars_line_has_no_label_here(staff):
    theirs = a_line(a_venue())
    assert staff.get(f"/labels/cleaning/?piece={piece_key(theirs)}").status_code == 404
    page = staff.get("/labels/cleaning/", follow=True).content.decode()
    assert "There is no line and no tap yet" in page
