"""Labels for kegs and for containers of what was prepared: facts in, a PDF out.

Black on white for thermal printers. The use-by is the largest text, then the
name, then the allergens in bold. Texts wrap and shrink inside their label,
never over its edge; an allergen is never cut.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from io import BytesIO
from zoneinfo import ZoneInfo

from django.utils import timezone
from reportlab.graphics.barcode.qr import QrCode
from reportlab.lib.colors import white
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from kegsafe.frame.templatetags.kegsafe import local_time
from kegsafe.reports.label_layout import Column, Framed, SideBySide
from kegsafe.reports.label_stock import LabelStock
from kegsafe.reports.text import (
    Bold,
    new_canvas,
    paragraph,
    printable,
    shortened,
    style,
    width_of,
)

NO_DATE = ("No date", "Ask the manager")

_SECOND_LINE = 0.6  # of the size of the day and month above it

# An x-height of 1.2 mm, in DejaVu Sans 6.3 points, is what Regulation (EU) 1169/2011, Annex IV,
# asks of prepacked food [from memory]. It does not bind here; it is a good measure of legible.
_LEGIBLE = 6.3
_FINEST = 4.4  # about the smallest type a thermal printer of 300 dots an inch keeps open
_LARGEST, _SMALLEST, _STEP = 1.5, 0.4, 0.05
_LONGEST_NAME = 160
_LONGEST_VALUE = 130
_CROWDED = 0.6  # below this scale the fine print gives way before the allergens do


@dataclass(frozen=True, slots=True)
class AllergenLine:
    """One line of the declaration: what is said of them, and the allergens, which go in bold."""

    words: str
    names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LabelFacts:
    """What one label says, as texts and moments.

    `use_by` is None when no date can be given; that is then printed as large.
    `date_because` and `date_source` are the reason that binds and where it is from.
    `warning` stands above all, such as a hold. `cautions` go from the shortest
    that must be there to what is added where there is room. `address` goes
    into the QR code and `scan` is printed with it. `zone` is the venue's.
    """

    venue: str
    name: str
    container: str
    particulars: tuple[tuple[str, str], ...]
    use_by: datetime | None
    date_because: str
    date_source: str
    allergens: tuple[AllergenLine, ...]
    cautions: tuple[str, ...]
    edition: str
    address: str
    scan: str
    printed_at: datetime
    zone: ZoneInfo
    warning: str = ""


def label_pdf(facts: LabelFacts, stock: LabelStock) -> bytes:
    """Return one label as a PDF: the same facts give the same bytes."""
    return labels_pdf([facts], stock)


def labels_pdf(labels: Sequence[LabelFacts], stock: LabelStock, *, first: int = 1) -> bytes:
    """Return labels as a PDF, in the order given, as many pages as they need.

    `first` is the place on the first sheet that is still free, 1 to `stock.per_page`.
    """
    if not labels or not 1 <= first <= stock.per_page:
        raise ValueError(f"labels: at least one; first: 1 to {stock.per_page}")
    buffer = BytesIO()
    canvas = new_canvas(buffer, stock.page_size, title=_title(labels), author=labels[0].venue)
    corners = list(stock.corners())
    for place, facts in enumerate(labels, start=first - 1):
        corner = place % stock.per_page
        if corner == 0 and place >= first:
            canvas.showPage()
        with timezone.override(facts.zone):
            _draw_label(canvas, facts, stock, corners[corner])
    canvas.save()
    return buffer.getvalue()


def _title(labels: Sequence[LabelFacts]) -> str:
    first = f"Label: {labels[0].name}, {labels[0].container}"
    return first if len(labels) == 1 else f"{first} and {len(labels) - 1} more"


def _draw_label(
    canvas: Canvas, facts: LabelFacts, stock: LabelStock, corner: tuple[float, float]
) -> None:
    width, height = stock.label_size
    x, y = corner
    if stock.per_page > 1:
        _cutting_line(canvas, x, y, width, height)
    _fitted(facts, stock).drawOn(canvas, x + stock.margin, y + stock.margin)


def _cutting_line(canvas: Canvas, x: float, y: float, width: float, height: float) -> None:
    canvas.saveState()
    canvas.setLineWidth(0.3)
    canvas.setDash(1, 3)
    canvas.rect(x, y, width, height)
    canvas.restoreState()


def _fitted(facts: LabelFacts, stock: LabelStock) -> Flowable:
    """Return the label set as large as it fits.

    Where even the smallest type cannot hold the allergens, the label says so
    instead of leaving any out.
    """
    for version in (facts, _without_its_allergens(facts)):
        for step in range(round((_LARGEST - _SMALLEST) / _STEP) + 1):
            label = _Setting(version, stock, _LARGEST - step * _STEP)
            flowable = label.landscape() if stock.is_landscape else label.portrait()
            if label.fits(flowable):
                return flowable
    raise ValueError(f"{stock.name} is too small for a label.")


def _without_its_allergens(facts: LabelFacts) -> LabelFacts:
    line = AllergenLine("", ("More allergens than this label holds: read them all at the QR code",))
    return replace(facts, allergens=(line,))


class _Setting:
    """A label at one scale of its type."""

    def __init__(self, facts: LabelFacts, stock: LabelStock, scale: float) -> None:
        self.facts, self.stock, self.scale = facts, stock, scale
        self.gap = 0.5 * stock.type_size * min(scale, 1)
        self.qr_size = stock.qr_size * min(max(scale, 0.8), 1)
        self.width = stock.label_size[0] - 2 * stock.margin
        self.height = stock.label_size[1] - 2 * stock.margin

    def size(self, factor: float, *, at_least: float = _FINEST) -> float:
        """Return a type size in points: a multiple of the stock's, at this scale."""
        return max(self.stock.type_size * factor * self.scale, at_least)

    def most(self, characters: int) -> int:
        """Return how much of a text that could be spared is printed: less on a crowded label."""
        return characters if self.scale > _CROWDED else characters // 3

    def fits(self, flowable: Flowable) -> bool:
        """Say whether the label stays inside its margins."""
        return flowable.wrap(self.width, self.height)[1] <= self.height + 0.01

    def portrait(self) -> Flowable:
        """Set everything in one column, with the QR code beside the particulars."""
        beside = SideBySide(self.particulars(), self.scan(), right_width=self.qr_size, gap=self.gap)
        parts = [*self.warning(), self.top_line(), *self.heart(self.width), beside]
        return Column(parts, gap=self.gap, foot=self.fine_print())

    def landscape(self) -> Flowable:
        """Set QR code and particulars in a column of their own, to the right."""
        right_width, gap = 0.36 * self.width, 2 * self.gap
        left = Column(self.heart(self.width - right_width - gap), gap=self.gap)
        right = Column([self.scan(), self.particulars()], gap=self.gap)
        both = SideBySide(left, right, right_width=right_width, gap=gap)
        parts = [*self.warning(), self.top_line(), both]
        return Column(parts, gap=self.gap, foot=self.fine_print())

    def heart(self, width: float) -> list[Flowable]:
        """Return what is read at arm's length: name, use-by, allergens."""
        return [self.name(width), self.use_by(width), self.allergens()]

    def warning(self) -> Iterator[Flowable]:
        if self.facts.warning:
            letters = style(self.size(1.1, at_least=7), bold=True)
            letters.textColor = white
            inside = paragraph(shortened(self.facts.warning, _LONGEST_VALUE), style=letters)
            yield Framed(inside, padding=0.3 * self.stock.type_size, is_bar=True)

    def top_line(self) -> Flowable:
        venue = paragraph(
            shortened(self.facts.venue, self.most(_LONGEST_VALUE)), style=style(self.size(0.7))
        )
        container = paragraph(
            Bold(shortened(self.facts.container, _LONGEST_VALUE)),
            style=style(self.size(1.1, at_least=6), bold=True),
        )
        return Column([venue, container], gap=0)

    def name(self, width: float) -> Flowable:
        largest = 0.8 * self.date_size(width)
        size = min(self.size(2, at_least=6.5), largest)
        text = shortened(printable(self.facts.name), _LONGEST_NAME)
        return paragraph(text, style=style(size, bold=True, leading=1.1))

    def date_lines(self) -> tuple[str, str]:
        """Return what stands in the frame: Tue 14 Apr, then 2026, 23:59."""
        if self.facts.use_by is None:
            return NO_DATE
        *day, rest = local_time(self.facts.use_by).split(" ", 3)
        return " ".join(day), rest

    def date_size(self, width: float) -> float:
        """Return the size at which the date fills its frame, or less where a label is crowded."""
        inside = width - 2 * self.date_edge()
        first, second = (width_of(line, 1, bold=True) for line in self.date_lines())
        filling = inside / max(first, _SECOND_LINE * second)
        return min(filling, 4 * self.stock.type_size) * min(max(self.scale, _CROWDED), 1)

    def date_edge(self) -> float:
        return 0.55 * self.stock.type_size

    def use_by(self, width: float) -> Flowable:
        size, (first, second) = self.date_size(width), self.date_lines()
        lines = [
            paragraph("USE BY", style=style(self.size(0.9, at_least=6), bold=True)),
            paragraph(first, style=style(size, bold=True, leading=1.05)),
            paragraph(second, style=style(size * _SECOND_LINE, bold=True, leading=1.15)),
        ]
        line = 0.2 * self.stock.type_size
        return Framed(Column(lines, gap=0), padding=self.date_edge() - line, line=line)

    def allergens(self) -> Flowable:
        at_least = _LEGIBLE if self.scale > _CROWDED else _FINEST
        letters = style(self.size(1, at_least=at_least))
        return Column([_allergen_line(each, letters) for each in self.facts.allergens], gap=1)

    def particulars(self) -> Flowable:
        letters = style(self.size(0.85))
        lines = [
            paragraph(f"{name}: ", shortened(value, _LONGEST_VALUE), style=letters)
            for name, value in self.facts.particulars
        ]
        return Column(lines, gap=0.15 * self.stock.type_size)

    def scan(self) -> Flowable:
        code = QrCode(
            self.facts.address,
            width=self.qr_size,
            height=self.qr_size,
            qrLevel="M",
        )
        return Column([code, paragraph(self.facts.scan, style=style(self.size(0.7)))], gap=0)

    def fine_print(self) -> Flowable:
        every = self.stock.has_room_for_every_caution
        cautions = self.facts.cautions if every else self.facts.cautions[:1]
        words = (
            shortened(self.facts.date_because, self.most(220)),
            shortened(self.facts.date_source, _LONGEST_VALUE),
            *cautions,
            self.facts.edition,
            f"Printed {local_time(self.facts.printed_at)}; the record may have changed since.",
        )
        return paragraph(" ".join(filter(None, words)), style=style(self.size(0.6)))


def _allergen_line(line: AllergenLine, letters) -> Flowable:
    pieces: list[str | Bold] = [f"{line.words} "] if line.words else []
    for place, name in enumerate(line.names):
        pieces += [", ", Bold(name)] if place else [Bold(name)]
    return paragraph(*pieces, style=letters)
