"""Words nobody should type, in every field a pack prints: they are printed, and nothing more."""

import csv
import zipfile
from datetime import timedelta
from decimal import Decimal
from io import BytesIO, StringIO

import pytest
from django.utils import timezone
from pypdf import PdfReader

from kegsafe.cleaning import services as cleaning
from kegsafe.cold_chain import services as cold
from kegsafe.inspection import services
from kegsafe.inspection.row_files import RowFiles
from kegsafe.inspection.sections import SECTIONS
from kegsafe.inspection.writing import write_pack
from kegsafe.ledger.services import last_sequence
from kegsafe.pressure import services as pressure
from kegsafe.rules.pressure.checks import points_of
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
    a_supplier,
    a_tap,
    a_tapping,
    a_venue,
    an_ingredient,
)
from tests.cleaning.cycle_acts import Cleaner, a_plan
from tests.inspection.pack_reading import pdf_of, scope_of, text_of

pytestmark = pytest.mark.django_db

MARKUP = '<img src="/etc/passwd"/><b>gin'
FORMULA = '=HYPERLINK("http://example.invalid")'
RIGHT_TO_LEFT = "מיץ ליים 🍸 عصير"
ENDLESS = "W" * 300
ENTITIES = "&amp; </para> %(name)s {0}"
OVERRIDE = "\N{RIGHT-TO-LEFT OVERRIDE}backwards"
# What is typed, and what of it stands on paper: a box is said to be what cannot be set.
HOSTILE = {
    "markup": (MARKUP, MARKUP),
    "formula": (FORMULA, FORMULA),
    "right to left": (RIGHT_TO_LEFT, "□"),
    "endless": (ENDLESS, ENDLESS[:100]),
    "entities": (ENTITIES, ENTITIES),
    "override": (OVERRIDE, "backwards"),
}


@pytest.fixture(params=HOSTILE)
def hostile(request):
    """A bar in which everything that a person may type says the same hostile thing."""
    word, printed = HOSTILE[request.param]
    venue = a_venue(name=word[:120])
    by, now = a_recorder(venue), timezone.now()
    venue.address = word
    venue.save()
    supplier = a_supplier(venue, name=word[:120])
    ingredient = an_ingredient(venue, name=word[:120], allergen_list_basis=word[:160])
    lot = a_lot(
        venue,
        ingredient=ingredient,
        supplier=supplier,
        supplier_lot_code=word[:80],
        document=word[:80],
    )
    recipe = a_recipe(venue, ingredient, name=word[:120])
    fill = a_fill(
        venue, batch=a_batch(venue, lot, recipe=recipe), keg=_a_clean_keg(venue, word[:40])
    )
    tap = a_tap(venue, name=word[:40])
    a_clean(venue, tap.line)
    a_tapping(venue, fill=fill, tap=tap)
    _a_given_up_clean(venue, word)
    _a_warm_place(venue, word, now)
    _a_failed_check(venue, word, by)
    a_person(venue, "staff", name=f"p{abs(hash(word))}")
    step, *_ = services.adopt_summary(venue=venue, by=by)
    seen = last_sequence(step)
    services.amend_step(
        step=step, changes={"hazards": word}, reason=word, seen_sequence=seen, by=by
    )
    today = venue.local(now).date()
    made_at = timezone.now() + timedelta(seconds=1)
    return printed, scope_of(venue, today - timedelta(days=2), today, made_at)


def _a_clean_keg(venue, name):
    keg = a_keg(venue, name=name)
    a_clean(venue, keg)
    return keg


def _a_given_up_clean(venue, word):
    jonas = Cleaner(venue)
    (cycle,) = jonas.starts(a_plan(venue), a_tap(venue, name="T").line)
    cycle = cleaning.give_up_cycle(cycle=cycle, reason=word[:200], by=jonas.by)
    cleaning.record_corrective_action(
        cycle=cycle,
        found=word,
        cause=word,
        done=word,
        product_affected=word,
        by=jonas.by,
    )


def _a_warm_place(venue, word, now):
    place = a_place(venue, name=word[:80])
    for minutes, degrees in ((120, "3"), (90, "9"), (60, "3")):
        cold.record_reading(
            place=place,
            read_at=now - timedelta(minutes=minutes),
            temperature_degc=Decimal(degrees),
            note=word[:200],
            by=a_recorder(venue),
        )
    began = int((now - timedelta(minutes=120)).timestamp())
    cold.record_action(
        place=place, excursion_from_s=began, what=word, taken_at=now, by=a_recorder(venue)
    )


def _a_failed_check(venue, word, by):
    item = pressure.add_item(venue=venue, kind="regulator", name=word[:40], serial=word[:60], by=by)
    pressure.add_gas_room(venue=venue, name=word[:80], volume_m3=Decimal(40), by=by)
    results = {point.key: "fail" for point in points_of("regulator", "look")}
    pressure.record_check(item=item, check="look", results=results, comment=word, by=by)


def test_a_pack_is_made_on_either_paper_and_nothing_typed_is_obeyed(hostile):
    _, scope = hostile
    for paper in ("a4", "letter"):
        reader = PdfReader(BytesIO(pdf_of(scope, paper)))
        assert len(reader.pages) > 5
        for page in reader.pages:
            assert "/Annots" not in page
            assert not page.images


def test_what_can_be_printed_is_printed_whole(hostile):
    """In a narrow column a word is broken over lines, and nothing of it is left out."""
    printed, scope = hostile
    joined = text_of(pdf_of(scope)).replace(" ", "")
    assert joined.count(printed[:40].replace(" ", "")) >= 10


def test_no_cell_of_the_files_is_a_formula(hostile):
    printed, scope = hostile
    out = BytesIO()
    with RowFiles(out, scope.made_at) as files:
        write_pack(scope, SECTIONS, BytesIO(), paper="a4", files=files)
    with zipfile.ZipFile(out) as rows:
        cells = [
            cell
            for name in rows.namelist()
            for row in csv.reader(StringIO(rows.read(name).decode("utf-8-sig")))
            for cell in row
        ]
    assert not [cell for cell in cells if cell.startswith(("=", "+", "@"))]
    if printed == FORMULA:
        assert f"'{FORMULA}" in cells
