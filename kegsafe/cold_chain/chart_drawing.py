"""Draw a place's temperatures as SVG: readings, limit, excursions shaded, gaps left open."""

from datetime import datetime
from math import ceil, floor
from zoneinfo import ZoneInfo

from reportlab.graphics import renderSVG
from reportlab.graphics.shapes import Drawing, Line, PolyLine, Rect, String
from reportlab.lib.colors import HexColor

from kegsafe.cold_chain.queries.chart import Piece, Thinned
from kegsafe.cold_chain.queries.standing import PlaceStanding
from kegsafe.quantities import UnitSystem

# For a desk and for a phone, so that words keep their size on both.
SIZES = {"wide": (760, 340), "narrow": (372, 300)}
_LEFT, _RIGHT, _TOP, _BOTTOM = 46, 14, 34, 34
_FONT, _BOLD = "Helvetica", "Helvetica-Bold"
CARD, INK, SOFT, GRID = (HexColor(hue) for hue in ("#ffffff", "#0f201d", "#41524d", "#dbe2df"))
READ, LIMIT, ABOVE, UNREAD = (HexColor(hue) for hue in ("#073f3b", "#b1121a", "#f9d5d3", "#e7ebe9"))
_MOST_TICKS = 6


def svg(
    standing: PlaceStanding, shown: Thinned, zone: ZoneInfo, units: UnitSystem, size: str
) -> str:
    """Return the chart as an SVG document in the units and the time of a venue."""
    paper = _Paper(standing, shown, zone, units, SIZES[size])
    paper.shade()
    paper.add_grid()
    paper.add_limit()
    for run in shown.runs(max(standing.standard.longest_gap, shown.piece_s)):
        paper.add_run(run)
    paper.add_words()
    return str(renderSVG.drawToString(paper.drawing))


class _Paper:
    def __init__(
        self,
        standing: PlaceStanding,
        shown: Thinned,
        zone: ZoneInfo,
        units: UnitSystem,
        size: tuple[int, int],
    ) -> None:
        self.standing, self.shown, self.zone = standing, shown, zone
        self.is_us = units == "us"
        self.drawing = Drawing(*size)
        self.drawing.add(Rect(0, 0, *size, fillColor=CARD, strokeColor=None))
        self.right, self.top = size[0] - _RIGHT, size[1] - _TOP
        limit = standing.standard.limit
        ends = [each.coldest for each in shown.pieces] + [each.warmest for each in shown.pieces]
        ends += [] if limit is None else [limit]
        self.low = floor(self._degrees(min(ends, default=0)) - 1)
        self.high = ceil(self._degrees(max(ends, default=500)) + 1)

    def _degrees(self, centi_degc: float) -> float:
        degc = centi_degc / 100
        return degc * 9 / 5 + 32 if self.is_us else degc

    def x(self, at_s: float) -> float:
        span = max(1, self.shown.until_s - self.shown.from_s)
        along = (at_s - self.shown.from_s) / span
        return _LEFT + min(max(along, 0.0), 1.0) * (self.right - _LEFT)

    def y(self, degrees: float) -> float:
        return _BOTTOM + (degrees - self.low) / (self.high - self.low) * (self.top - _BOTTOM)

    def shade(self) -> None:
        record = self.standing.record
        if record is None:
            return
        for gap in record.gaps:
            self._band(gap.from_s, gap.until_s, UNREAD)
        for each in record.excursions:
            self._band(each.from_s, each.until_s, ABOVE)

    def _band(self, from_s: int, until_s: int, hue: HexColor) -> None:
        left, right = self.x(from_s), self.x(until_s)
        height = self.top - _BOTTOM
        wide = max(right - left, 1.0)
        self.drawing.add(Rect(left, _BOTTOM, wide, height, fillColor=hue, strokeColor=None))

    def add_grid(self) -> None:
        step = max(1, ceil((self.high - self.low) / _MOST_TICKS))
        for degrees in range(self.low, self.high + 1, step):
            height = self.y(degrees)
            self.drawing.add(Line(_LEFT, height, self.right, height, strokeColor=GRID))
            self._word(_LEFT - 6, height - 4, str(degrees), anchor="end")
        span = self.shown.until_s - self.shown.from_s
        words = "%H:%M" if span <= 90_000 else "%a %d" if span < 700_000 else "%d %b"
        ticks = _MOST_TICKS if self.right > 500 else 4
        for number in range(ticks + 1):
            at_s = self.shown.from_s + span * number / ticks
            place = self.x(at_s)
            self.drawing.add(Line(place, _BOTTOM, place, _BOTTOM - 5, strokeColor=SOFT))
            anchor = "start" if number == 0 else "end" if number == ticks else "middle"
            local = datetime.fromtimestamp(at_s, self.zone)
            self._word(place, 12, local.strftime(words), anchor=anchor)

    def add_limit(self) -> None:
        limit = self.standing.standard.limit
        if limit is None:
            return
        height = self.y(self._degrees(limit))
        dashed = {"strokeColor": LIMIT, "strokeWidth": 1.5, "strokeDashArray": [7, 4]}
        self.drawing.add(Line(_LEFT, height, self.right, height, **dashed))
        self._word(self.right - 4, height + 4, "limit", hue=LIMIT, anchor="end")

    def add_run(self, run: list[Piece]) -> None:
        points: list[float] = []
        for piece in run:
            middle = self.x((piece.first_s + piece.last_s) / 2)
            low, high = (self.y(self._degrees(each)) for each in (piece.coldest, piece.warmest))
            points += [middle, low] if low == high else [middle, low, middle, high]
        if len(points) == 2:
            points = [points[0] - 1.5, points[1], points[0] + 1.5, points[1]]
        self.drawing.add(PolyLine(points, strokeColor=READ, strokeWidth=1.5))

    def add_words(self) -> None:
        unit = "°F" if self.is_us else "°C"
        title = f"{self.standing.place.name[:40]} ({unit})"
        self.drawing.add(
            String(12, self.top + 14, title, fontName=_BOLD, fontSize=13, fillColor=INK)
        )

    def _word(
        self, x: float, y: float, text: str, *, hue: HexColor = SOFT, anchor: str = "start"
    ) -> None:
        self.drawing.add(
            String(x, y, text, fontName=_FONT, fontSize=11, fillColor=hue, textAnchor=anchor)
        )
