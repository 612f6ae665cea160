"""The diagram of a trace as SVG: a light card of its own, legible in any theme and on paper.

A box says in words what it is, so that its hue is never the only sign.
"""

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from xml.sax.saxutils import escape

from reportlab.graphics import renderSVG
from reportlab.graphics.shapes import Drawing, Path, Polygon, Rect, String
from reportlab.lib.colors import HexColor

from kegsafe.batches.models import Fill
from kegsafe.frame.xml_text import as_xml_holds
from kegsafe.rules.moments import on_day
from kegsafe.rules.tracing import Node, Sort, depths
from kegsafe.tracing.layout import BOX_HEIGHT, BOX_WIDTH, Edge, Layout, layout_of
from kegsafe.tracing.queries import FillReached
from kegsafe.tracing.records import BatchRow, LotRow, Records

MOST_DRAWN = 60

_REGULAR, _BOLD = "Helvetica", "Helvetica-Bold"
_NAME_SIZE, _WORD_SIZE = 11.5, 10
_MOST_LETTERS = 27
_CARD, _INK, _SOFT, _LINE = (HexColor(h) for h in ("#ffffff", "#0f201d", "#41524d", "#64756f"))
_BOUGHT, _MADE, _BATCH, _KEG = (HexColor(h) for h in ("#8a4b12", "#5b2a6e", "#234079", "#0a5953"))


@dataclass(frozen=True, slots=True)
class Box:
    """What one box says: its name, what it is, and where that stands."""

    node: Node
    name: str
    what: str
    where: str
    hue: HexColor


def can_be_drawn(records: Records) -> bool:
    """Return whether a diagram would still be read: beyond MOST_DRAWN boxes the tables tell it."""
    return len(records.lots) + len(records.batches) + len(records.fills) <= MOST_DRAWN


def diagram_svg(records: Records, middle: Node, words: str) -> str:
    """Return the diagram as an SVG document.

    middle : what the trace is of: a thick frame
    words : the same in a sentence, as the title of the document
    """
    boxes = {box.node: box for box in _boxes(records)}
    edges = [edge for edge in _edges(records) if edge[0] in boxes and edge[1] in boxes]
    amounts = records.amounts
    found = depths(amounts.draws, amounts.fills)
    layout = layout_of({node: found.get(node, 0) for node in boxes}, edges)
    drawing = Drawing(layout.width, layout.height)
    drawing.add(Rect(0, 0, layout.width, layout.height, fillColor=_CARD, strokeColor=None))
    for edge in edges:
        _add_line(drawing, layout, edge)
    for box in boxes.values():
        _add_box(drawing, layout, box, is_middle=box.node == middle)
    return _finished(str(renderSVG.drawToString(drawing)), words)


def _finished(svg: str, words: str) -> str:
    """Give the document its title, and write bold as CSS does: no font is called Helvetica-Bold."""
    title = f"<title>{escape(as_xml_holds(words))}</title>"
    bold = "font-family: Helvetica, Arial, sans-serif; font-weight: bold"
    svg = svg.replace(f"font-family: {_BOLD}", bold)
    return svg.replace("<title>...</title>", title, 1).replace("<desc>...</desc>", "", 1)


def _boxes(records: Records) -> Iterator[Box]:
    for lot in records.lots:
        yield _lot_box(lot)
    for batch in records.batches:
        yield _batch_box(batch, records)
    for fill in records.fills:
        yield _fill_box(fill)


def _lot_box(lot: LotRow) -> Box:
    hue = _MADE if lot.made_in_house else _BOUGHT
    where = "made here" if lot.made_in_house else lot.supplier or "supplier not recorded"
    return Box(Node(Sort.LOT, lot.lot_id), lot.ingredient, f"Lot {lot.code}", where, hue)


def _batch_box(batch: BatchRow, records: Records) -> Box:
    when = f"made {on_day(records.venue.local(batch.made_at).date())}"
    return Box(Node(Sort.BATCH, batch.batch_id), batch.drink, f"Batch {batch.code}", when, _BATCH)


def _fill_box(fill: FillReached) -> Box:
    taps = ", ".join(dict.fromkeys(f"tap {poured.tap}" for poured in fill.poured)) or "no tap yet"
    if not fill.is_open and not fill.poured:
        taps = "never tapped"
    state = Fill.State(fill.state).label.lower()
    return Box(Node(Sort.FILL, fill.fill_id), f"Keg {fill.keg}", state, taps, _KEG)


def _edges(records: Records) -> list[Edge]:
    drawn = [(Node(Sort.LOT, draw.lot_id), draw.into) for draw in records.draws]
    filled = [
        (Node(Sort.BATCH, fill.batch_id), Node(Sort.FILL, fill.fill_id)) for fill in records.fills
    ]
    return list(dict.fromkeys([*drawn, *filled]))


def _add_line(drawing: Drawing, layout: Layout, edge: Edge) -> None:
    (x1, y1), (x2, y2) = (layout.corners[node] for node in edge)
    x1, y1, y2 = x1 + BOX_WIDTH, y1 + BOX_HEIGHT / 2, y2 + BOX_HEIGHT / 2
    bend = max((x2 - x1) / 2, 24)
    line = Path(strokeColor=_LINE, strokeWidth=1.4, fillColor=None)
    line.moveTo(x1, y1)
    line.curveTo(x1 + bend, y1, x2 - bend, y2, x2 - 6, y2)
    drawing.add(line)
    head = [x2 - 8, y2 + 4, x2 - 8, y2 - 4, x2 - 1, y2]
    drawing.add(Polygon(head, fillColor=_LINE, strokeColor=None))


def _add_box(drawing: Drawing, layout: Layout, box: Box, *, is_middle: bool) -> None:
    x, y = layout.corners[box.node]
    drawing.add(
        Rect(
            *(x, y, BOX_WIDTH, BOX_HEIGHT),
            rx=5,
            ry=5,
            fillColor=_CARD,
            strokeColor=_INK if is_middle else _LINE,
            strokeWidth=3 if is_middle else 1,
        )
    )
    drawing.add(Rect(x + 3, y + 4, 5, BOX_HEIGHT - 8, fillColor=box.hue, strokeColor=None))
    lines = ((box.name, _BOLD, _NAME_SIZE, _INK), *_words(box))
    for row, (text, font, size, hue) in enumerate(lines):
        drawing.add(
            String(
                *(x + 15, y + BOX_HEIGHT - 16 - 14 * row, _shortened(text)),
                fontName=font,
                fontSize=size,
                fillColor=hue,
            )
        )


def _words(box: Box) -> Iterator[tuple[str, str, float, HexColor]]:
    yield box.what, _REGULAR, _WORD_SIZE, _INK
    yield box.where, _REGULAR, _WORD_SIZE, _SOFT


def _shortened(text: str) -> str:
    """Return as much of a text as a box takes; letters that are set wide count twice."""
    kept, room = "", float(_MOST_LETTERS)
    for letter in as_xml_holds(" ".join(text.split())):
        room -= 2 if unicodedata.east_asian_width(letter) in "WF" else 1
        if room < 0:
            return f"{kept.rstrip()}…"
        kept += letter
    return kept
