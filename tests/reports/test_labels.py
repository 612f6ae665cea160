"""A label as it is printed: legible, whole, inside its edges, and the same every time."""

import re
from dataclasses import replace
from datetime import datetime
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from reportlab.lib.units import inch, mm

from kegsafe.reports.label_stock import STOCKS
from kegsafe.reports.labels import AllergenLine, label_pdf, labels_pdf
from kegsafe.reports.text import NOT_PRINTABLE, width_of
from tests.reports.facts import (
    ADDRESS,
    FOURTEEN,
    NEW_YORK,
    crowded_facts,
    fonts_of,
    label_facts,
    reader,
    rendered,
    runs_of,
    scanned,
    words_of,
)

EVERY_STOCK = pytest.mark.parametrize("stock", STOCKS.values(), ids=STOCKS)
EVERY_LABEL = pytest.mark.parametrize(
    "facts",
    [label_facts(), crowded_facts(), label_facts(use_by=None)],
    ids=["usual", "crowded", "undated"],
)


# What stands on it


@EVERY_STOCK
def test_a_label_says_all_that_is_asked_of_it(stock):
    words = words_of(label_pdf(label_facts(), stock))
    for said in (
        "The Copper Finch",
        "Orchard Sour",
        "Keg K7",
        "USE BY Mon 13 Apr 2026, 23:59",
        "Contains Egg, Almond (tree nut)",
        "May contain Milk",
        "Allergens not known of House bitters",
        "Batch: 260407-A",
        "Lot: 260407-A/42",
        "Filled: Tue 7 Apr 2026, 18:00",
        "Ready from: Wed 8 Apr 2026, 18:00",
        "Hold at or below: 4 °C (39.2 °F)",
        "Alcohol: 8.5 % vol",
        "under pressure",
        "FDA Food Code 2022, 3-501.17 (read in the source)",
        "The local code, the authority and a competent person decide.",
        "Printed Tue 7 Apr 2026, 19:05",
    ):
        assert said in words


@EVERY_STOCK
def test_a_crowded_label_still_says_every_allergen_and_what_identifies_it(stock):
    words = words_of(label_pdf(crowded_facts(), stock))
    for said in (*FOURTEEN, "Coconut 22", "ON HOLD", "260407-A/42", "Mon 13 Apr", "under pressure"):
        assert said in words


@EVERY_STOCK
def test_a_label_without_a_date_sends_the_person_to_the_manager(stock):
    words = words_of(label_pdf(label_facts(use_by=None), stock))
    assert "USE BY No date Ask the manager" in words


@pytest.mark.parametrize("claim", ["safe until", "approved", "certified", "compliant", "is safe"])
@EVERY_STOCK
def test_a_label_claims_nothing_that_only_a_person_may_say(stock, claim):
    assert claim not in words_of(label_pdf(label_facts(), stock)).lower()


def test_the_hour_that_comes_twice_names_its_zone():
    """In New York the clocks go back on 1 November 2026 at 02:00."""
    twice = datetime(2026, 11, 1, 1, 30, tzinfo=NEW_YORK)
    words = words_of(label_pdf(label_facts(use_by=twice), STOCKS["roll-62"]))
    assert "Sun 1 Nov 2026, 01:30 EDT" in words


# How it looks


@EVERY_STOCK
@EVERY_LABEL
def test_the_use_by_is_the_largest_text(stock, facts):
    runs = runs_of(label_pdf(facts, stock))
    largest = max(run.size for run in runs)
    date = "No date" if facts.use_by is None else "Mon 13 Apr"
    assert {run.text for run in runs if run.size == largest} == {date}


@EVERY_STOCK
@EVERY_LABEL
def test_allergens_are_set_in_bold(stock, facts):
    """Regulation (EU) 1169/2011, Art. 21(1)(b): told apart by the type, such as its weight."""
    bold = " ".join(
        run.text for run in runs_of(label_pdf(facts, stock)) if run.font.endswith("Bold")
    )
    for line in facts.allergens:
        for name in line.names:
            assert name.split()[0] in bold


@EVERY_STOCK
def test_the_words_around_the_allergens_are_not_bold(stock):
    [run] = [r for r in runs_of(label_pdf(label_facts(), stock)) if r.text.startswith("Contains")]
    assert not run.font.endswith("Bold")


@EVERY_STOCK
def test_fourteen_allergens_are_set_in_legible_type(stock):
    """Regulation (EU) 1169/2011, Annex IV: an x-height of 1.2 mm [from memory].

    In DejaVu Sans the x is 1120 of 2048 units high (its OS/2 table).
    """
    facts = label_facts(allergens=(AllergenLine("Contains", FOURTEEN),))
    sizes = [run.size for run in runs_of(label_pdf(facts, stock)) if "Mustard" in run.text]
    assert sizes
    assert all(size * 1120 / 2048 >= 1.2 * mm for size in sizes)


@EVERY_STOCK
@EVERY_LABEL
def test_a_label_is_black_and_white(stock, facts):
    """Thermal paper has no grey: the PDF sets no colour but black and white."""
    for page in reader(label_pdf(facts, stock)).pages:
        content = page.get_contents().get_data().decode("latin-1")
        colours = set(re.findall(r"([\d. ]+) (?:rg|RG|g|G)\b", content))
        assert {colour.strip() for colour in colours} <= {"0 0 0", "1 1 1", "0", "1"}


# Where it ends


@pytest.mark.parametrize(
    ("key", "width", "height"),
    [
        ("roll-100x150", 100 * mm, 150 * mm),
        ("roll-62", 62 * mm, 100 * mm),
        ("sheet-a4", 210 * mm, 297 * mm),  # ISO 216
        ("sheet-letter", 8.5 * inch, 11 * inch),  # ANSI Y14.1 A
    ],
)
def test_a_page_is_exactly_as_large_as_its_stock(key, width, height):
    [page] = reader(label_pdf(label_facts(), STOCKS[key])).pages
    assert float(page.mediabox.width) == pytest.approx(width, abs=0.01)
    assert float(page.mediabox.height) == pytest.approx(height, abs=0.01)


@EVERY_STOCK
@EVERY_LABEL
def test_no_text_leaves_the_label(stock, facts):
    _assert_inside(label_pdf(facts, stock), stock)


@EVERY_STOCK
@EVERY_LABEL
def test_no_line_of_text_lies_upon_another(stock, facts):
    pdf = label_pdf(facts, stock)
    rows: dict[float, float] = {}
    left_half = stock.corners().__next__()[0] + 0.3 * stock.label_size[0]
    for run in runs_of(pdf):
        if run.x < left_half:
            rows[run.y] = max(rows.get(run.y, 0), run.size)
    for (above, _), (below, size) in pairwise(sorted(rows.items(), reverse=True)):
        assert above - below >= 0.9 * size


names = st.one_of(
    st.text(max_size=300),
    st.text(alphabet="WMШЩΩ", min_size=1, max_size=300),
    st.sampled_from(["<b>x", '<img src="/etc/passwd"/>', "=1+1", "🍸", "قهوة", "a\nb", ""]),
)


@given(data=st.data(), stock=st.sampled_from(list(STOCKS.values())))
@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
def test_no_name_however_long_or_strange_leaves_the_label(data, stock):
    facts = label_facts(
        venue=data.draw(names),
        name=data.draw(names),
        container=data.draw(names),
        date_because=data.draw(names),
        date_source=data.draw(names),
        warning=data.draw(names),
        particulars=tuple((name, data.draw(names)) for name in ("Batch", "Lot", "Filled")),
        allergens=(AllergenLine("Contains", tuple(data.draw(st.lists(names, max_size=40)))),),
    )
    _assert_inside(label_pdf(facts, stock), stock)


@EVERY_STOCK
def test_allergens_that_do_not_fit_are_never_cut_but_sent_for(stock):
    endless = AllergenLine("Contains", tuple(f"Allergenic source number {n}" for n in range(300)))
    words = words_of(label_pdf(label_facts(allergens=(endless,)), stock))
    assert "More allergens than this label holds: read them all at the QR code" in words
    assert "source number" not in words


def _assert_inside(pdf, stock) -> None:
    left, bottom = next(stock.corners())
    right, top = left + stock.label_size[0], bottom + stock.label_size[1]
    for run in runs_of(pdf):
        bold = run.font.endswith("Bold")
        assert run.x >= left
        assert run.x + width_of(run.text, run.size, bold=bold) <= right + 0.01
        assert run.y - 0.24 * run.size >= bottom  # DejaVu's descent
        assert run.y + 0.76 * run.size <= top  # and its ascent


# What is in the file


@EVERY_STOCK
@EVERY_LABEL
def test_every_font_is_inside_the_file(stock, facts):
    found = set(fonts_of(label_pdf(facts, stock)))
    assert {name.split("+")[-1] for name, _ in found} == {"DejaVuSans", "DejaVuSans-Bold"}
    assert all(embedded for _, embedded in found)


@EVERY_STOCK
@EVERY_LABEL
def test_the_code_scans_from_the_print_of_a_thermal_printer(stock, facts):
    """203 dots an inch is the coarser of the two usual heads. Read back with zxing-cpp."""
    [page] = rendered(label_pdf(facts, stock))
    assert scanned(page) == [ADDRESS]


def test_a_long_address_still_scans_from_the_smallest_label():
    address = f"https://{'bar-' * 15}on-the-quay.example/pour/k3f9x2ab/"
    [page] = rendered(label_pdf(label_facts(address=address), STOCKS["roll-62"]))
    assert scanned(page) == [address]


@EVERY_STOCK
def test_the_same_facts_give_the_same_file(stock):
    assert label_pdf(crowded_facts(), stock) == label_pdf(crowded_facts(), stock)


def test_the_file_names_its_drink_keg_and_language():
    pdf = reader(label_pdf(label_facts(name="Sour <b>"), STOCKS["roll-62"]))
    assert pdf.metadata.title == "Label: Sour <b>, Keg K7"
    assert pdf.trailer["/Root"]["/Lang"] == "en-GB"


@pytest.mark.parametrize(
    ("typed", "printed"),
    [
        ("<b>x", "<b>x"),
        ('<img src="/etc/passwd"/>', '<img src="/etc/passwd"/>'),
        ("=1+1", "=1+1"),
        ("🍸 Fizz", f"{NOT_PRINTABLE} Fizz"),
        ("قهوة", NOT_PRINTABLE),
        ("מרטיני", NOT_PRINTABLE),
        ("Ούζο", "Ούζο"),
        ("Медовуха", "Медовуха"),
        ("two\nlines", "two lines"),
    ],
)
def test_a_hostile_name_is_only_a_name(typed, printed):
    pdf = label_pdf(label_facts(name=typed), STOCKS["sheet-a4"])
    assert printed in words_of(pdf)
    assert not list(reader(pdf).pages[0].images)


# Several


def test_a_roll_takes_one_label_a_page():
    labels = [label_facts(name=f"Drink {n}") for n in range(3)]
    pages = reader(labels_pdf(labels, STOCKS["roll-62"])).pages
    assert [f"Drink {n}" in page.extract_text() for n, page in enumerate(pages)] == [True] * 3


@pytest.mark.parametrize("key", ["sheet-a4", "sheet-letter"])
@pytest.mark.parametrize(("number", "first", "pages"), [(8, 1, 1), (9, 1, 2), (2, 8, 2), (1, 8, 1)])
def test_a_sheet_takes_eight_from_the_first_free_place(key, number, first, pages):
    labels = [label_facts(name=f"Drink {n}") for n in range(number)]
    pdf = labels_pdf(labels, STOCKS[key], first=first)
    assert len(reader(pdf).pages) == pages
    assert all(f"Drink {n}" in words_of(pdf) for n in range(number))


def test_each_label_of_a_sheet_keeps_its_own_address():
    labels = [
        label_facts(address=f"https://bar.example/pour/code{n}/", name=f"Drink {n}")
        for n in range(8)
    ]
    [page] = rendered(labels_pdf(labels, STOCKS["sheet-a4"]))
    assert sorted(scanned(page)) == [label.address for label in labels]


@EVERY_STOCK
def test_the_labels_of_a_page_lie_inside_it_and_beside_each_other(stock):
    corners = list(stock.corners())
    assert len(set(corners)) == stock.per_page
    for x, y in corners:
        assert x >= -0.01
        assert y >= -0.01
        assert x + stock.label_size[0] <= stock.page_size[0] + 0.01
        assert y + stock.label_size[1] <= stock.page_size[1] + 0.01


@pytest.mark.parametrize(("labels", "first"), [(0, 1), (1, 0), (1, 9)])
def test_no_labels_or_a_place_off_the_sheet_is_a_mistake_of_the_caller(labels, first):
    with pytest.raises(ValueError, match="at least one; first: 1 to 8"):
        labels_pdf([label_facts()] * labels, STOCKS["sheet-a4"], first=first)


def test_a_label_is_written_in_the_zone_of_its_venue():
    facts = replace(label_facts(), use_by=datetime.fromisoformat("2026-04-14T03:59:59+00:00"))
    assert "Mon 13 Apr 2026, 23:59" in words_of(label_pdf(facts, STOCKS["roll-62"]))
