"""What people type is text in a PDF and nothing else."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from reportlab.lib.styles import ParagraphStyle

from kegsafe.reports.text import (
    NOT_PRINTABLE,
    Bold,
    paragraph,
    printable,
    shortened,
    style,
    width_of,
)


@pytest.mark.parametrize(
    "typed", ["Żubrówka", "Crème de pêche", "Ούζο", "Медовуха", "Café ½ ⅓ 5 °C ≤ €"]
)
def test_latin_greek_and_cyrillic_are_printed_as_typed(typed):
    assert printable(typed) == typed


@pytest.mark.parametrize(
    ("typed", "printed"),
    [
        ("Gin 🍸 Fizz", f"Gin {NOT_PRINTABLE} Fizz"),
        ("🍸🍸🍸", NOT_PRINTABLE),
        ("👩\u200d🍳 special", f"{NOT_PRINTABLE} special"),
        ("梅酒", NOT_PRINTABLE),
        ("قهوة tonic", f"{NOT_PRINTABLE} tonic"),
        ("מרטיני", NOT_PRINTABLE),
        ("a\ud800b", f"a{NOT_PRINTABLE}b"),
    ],
)
def test_what_the_fonts_cannot_write_is_seen_to_be_missing(typed, printed):
    assert printable(typed) == printed


@pytest.mark.parametrize(
    ("typed", "printed"),
    [
        ("two\nlines\tand\r\nmore", "two lines and more"),
        ("a\x00b\x07c", "abc"),
        ("\u202eruoS\u202c", "ruoS"),
        ("so\u00adda", "soda"),
    ],
)
def test_marks_that_are_no_text_are_dropped(typed, printed):
    assert printable(typed) == printed


def test_a_figure_stays_with_its_unit():
    assert printable("3\N{NO-BREAK SPACE}°C") == "3\N{NO-BREAK SPACE}°C"


def test_a_letter_and_its_accent_typed_apart_become_one_letter():
    assert printable("Cafe\u0301") == "Café"


def test_a_pile_of_accents_stays_in_its_line():
    assert printable("x" + "\u0302" * 50) == "x\u0302"


@pytest.mark.parametrize(
    "typed",
    [
        "<b>x",
        "</para>",
        '<img src="/etc/passwd"/>',
        '<a href="file:///etc/passwd">menu</a>',
        "<font color=red>",
        "Salt & lime",
        "&amp; &#60;b&#62;",
        "=1+1",
        "{{ 7 }} %s",
        "<![CDATA[x]]>",
    ],
)
def test_markup_in_a_name_is_printed_letter_by_letter(typed):
    assert paragraph(typed, style=style(10)).getPlainText() == typed
    assert paragraph(Bold(typed), style=style(10)).getPlainText() == typed


def test_the_blank_between_two_pieces_is_kept():
    whole = paragraph("Contains ", Bold("Egg"), ", ", Bold("Milk"), style=style(10))
    assert whole.getPlainText() == "Contains Egg, Milk"


@given(st.text(max_size=60))
def test_any_text_at_all_makes_a_paragraph_that_says_it(typed):
    whole = paragraph(typed, style=style(10))
    whole.wrap(100, 1000)
    assert whole.getPlainText().strip() == printable(typed)


def test_a_long_word_is_broken_before_it_leaves_its_column():
    whole = paragraph("W" * 300, style=style(10))
    _, height = whole.wrap(60, 10_000)
    lines = height / style(10).leading
    assert lines * 60 >= width_of("W" * 300, 10)


def test_a_text_cut_short_says_so_and_a_text_that_fits_is_whole():
    assert shortened("Harbour Fizz", 12) == "Harbour Fizz"
    assert shortened("Harbour Fizz", 11) == "Harbour Fi…"
    assert len(shortened("x" * 500, 120)) == 120


def test_a_style_keeps_lines_apart_by_its_size():
    assert isinstance(style(10), ParagraphStyle)
    assert style(10).leading == pytest.approx(12)
