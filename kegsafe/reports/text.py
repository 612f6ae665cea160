"""The one place that makes text for a PDF: fonts that are embedded, and words from people.

What people type is markup to ReportLab: `<b>x` breaks a report and `<img src=...>` puts a file
of the server's disk into it. So every paragraph is made here, and everything in it is escaped.
"""

import re
import unicodedata
from dataclasses import dataclass
from functools import cache, lru_cache
from io import BytesIO
from itertools import groupby
from pathlib import Path
from typing import NewType
from xml.sax.saxutils import escape

from reportlab import rl_config
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph

import kegsafe.frame

REGULAR = "DejaVuSans"
BOLD = "DejaVuSans-Bold"

NOT_PRINTABLE = "□"  # stands for what the font cannot write, so that a gap is seen
CUT = "…"  # stands for what was left out of a text too long for its place

# Compressed pages stay bytes: writing them out in letters costs a fifth more time and room, and
# no reader has asked for it since PDF 1.2.
rl_config.useA85 = 0

_FONTS = Path(kegsafe.frame.__file__).parent / "fonts"
_RIGHT_TO_LEFT = {"R", "AL", "AN"}
# Format marks turn the reading order around or join what is apart; the others are no text.
_DROPPED = {"Cc", "Cf"}
_VARIATION_SELECTORS = range(0xFE00, 0xFE10)

_BLANKS = re.compile("[^\\S\N{NO-BREAK SPACE}]+")  # a no-break space is meant to stay one

Printable = NewType("Printable", str)


@dataclass(frozen=True, slots=True)
class Bold:
    """Words of a paragraph that are set in bold, such as the name of an allergen."""

    text: str


def printable(text: str) -> Printable:
    """Return a text on one line that the fonts can write; what they cannot becomes one box.

    The fonts hold Latin, Greek and Cyrillic. Scripts that run right to left
    become a box too: set letter by letter from the left they would be a
    different word.
    """
    if text.isascii() and text.isprintable():  # nearly everything: worth no second look
        return Printable(_BLANKS.sub(" ", text).strip())
    composed = unicodedata.normalize("NFC", text)
    one_line = _BLANKS.sub(" ", "".join(filter(_is_text, composed))).strip()
    kept = map(_shown, one_line)
    boxed = (
        NOT_PRINTABLE if character == NOT_PRINTABLE else "".join(run)
        for character, run in groupby(kept)
    )
    return Printable(_without_piled_accents("".join(boxed)))


def shortened(text: str, most: int) -> str:
    """Return a text of at most so many characters, with a mark where it was cut."""
    return text if len(text) <= most else text[: most - len(CUT)].rstrip() + CUT


def paragraph(*pieces: str | Bold, style: ParagraphStyle) -> Paragraph:
    """Return a paragraph of texts as people typed them; nothing in them is markup."""
    return Paragraph("".join(_markup(piece) for piece in pieces), style)


def style(size: float, *, bold: bool = False, leading: float = 1.2) -> ParagraphStyle:
    """Return a style: size in points, leading as a multiple of it. Long words are broken."""
    _register_fonts()
    name = BOLD if bold else REGULAR
    return ParagraphStyle(
        name=f"{name} {size:.2f}",
        fontName=name,
        bulletFontName=name,
        fontSize=size,
        leading=size * leading,
        splitLongWords=True,
    )


def width_of(text: str, size: float, *, bold: bool = False) -> float:
    """Return how wide a printable text runs on one line, in points."""
    _register_fonts()
    return pdfmetrics.stringWidth(text, BOLD if bold else REGULAR, size)


@lru_cache(maxsize=16_384)
def lines_of(text: str, width: float, size: float, *, bold: bool = False) -> tuple[str, ...]:
    """Return a text as the lines it takes in a cell of a table, none wider than `width` points.

    Broken between words, and inside a word that is wider than the cell. At least one line.
    """
    shown = printable(text)
    if width_of(shown, size, bold=bold) <= width:
        return (shown,)
    lines, line = [], ""
    for word in shown.split(" "):
        longer = f"{line} {word}" if line else word
        if width_of(longer, size, bold=bold) <= width:
            line = longer
            continue
        if line:
            lines.append(line)
        *whole, line = _broken(word, width, size, bold=bold)
        lines += whole
    return (*lines, line)


def _broken(word: str, width: float, size: float, *, bold: bool) -> list[str]:
    """Cut a word into pieces that fit; one letter always does, however narrow the cell."""
    pieces, piece = [], ""
    for letter in word:
        if piece and width_of(piece + letter, size, bold=bold) > width:
            pieces.append(piece)
            piece = ""
        piece += letter
    return [*pieces, piece]


def new_canvas(
    buffer: BytesIO, page_size: tuple[float, float], *, title: str, author: str
) -> Canvas:
    """Return an empty document: the same input gives the same bytes, and every font is embedded.

    `invariant` fixes the date inside the file; the true dates stand in the text.
    """
    _register_fonts()
    canvas = Canvas(buffer, pagesize=page_size, invariant=1, initialFontName=REGULAR, lang="en-GB")
    canvas.setTitle(printable(title))
    canvas.setAuthor(printable(author))
    canvas.setCreator("kegsafe")
    return canvas


@cache
def _register_fonts() -> None:
    pdfmetrics.registerFont(TTFont(REGULAR, _FONTS / "DejaVuSans.ttf"))
    pdfmetrics.registerFont(TTFont(BOLD, _FONTS / "DejaVuSans-Bold.ttf"))
    # Both slants point at the upright face: there is no third font to fall back on.
    pdfmetrics.registerFontFamily(
        REGULAR, normal=REGULAR, bold=BOLD, italic=REGULAR, boldItalic=BOLD
    )
    pdfmetrics.registerFontFamily(BOLD, normal=BOLD, bold=BOLD, italic=BOLD, boldItalic=BOLD)


@cache
def _in_both_fonts() -> frozenset[int]:
    _register_fonts()
    faces = (pdfmetrics.getFont(name).face for name in (REGULAR, BOLD))
    return frozenset.intersection(*(frozenset(face.charToGlyph) for face in faces))


def _is_text(character: str) -> bool:
    """A line end and a tab part words, so they stay until blanks are made one."""
    is_mark = unicodedata.category(character) in _DROPPED
    return character.isspace() or not (is_mark or ord(character) in _VARIATION_SELECTORS)


def _shown(character: str) -> str:
    if unicodedata.bidirectional(character) in _RIGHT_TO_LEFT:
        return NOT_PRINTABLE
    return character if ord(character) in _in_both_fonts() else NOT_PRINTABLE


def _without_piled_accents(text: str) -> str:
    """Keep one accent a letter: a pile of them climbs out of its line into the next."""
    before = [" ", *text]
    return "".join(
        character
        for previous, character in zip(before, text, strict=False)
        if not (_is_accent(previous) and _is_accent(character))
    )


def _is_accent(character: str) -> bool:
    return unicodedata.category(character) in {"Mn", "Me"}


def _markup(piece: str | Bold) -> str:
    if isinstance(piece, Bold):
        return f"<b>{escape(printable(piece.text))}</b>"
    # The blank between two pieces is not the blank at the end of a line.
    lead, tail = (" " if edge.isspace() else "" for edge in (piece[:1], piece[-1:]))
    return f"{lead}{escape(printable(piece))}{tail}"
