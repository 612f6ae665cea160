"""Draw a place's temperatures: readings, limit, excursions shaded, gaps left open.

Readings of a thermometer that was not believed are drawn as a broken line under a bar that
says so.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from math import ceil, floor
from zoneinfo import ZoneInfo

from reportlab.graphics import renderSVG
from reportlab.graphics.shapes import Drawing, Line, PolyLine, Rect, String
from reportlab.lib.colors import Color, HexColor

from kegsafe.cold_chain.queries.chart import Piece, Thinned
from kegsafe.cold_chain.queries.standing import PlaceStanding
from kegsafe.quantities import UnitSystem

# For a desk and for a phone, so that words keep their size on both.
SIZES = {"wide": (760, 340), "narrow": (372, 300)}
_LEFT, _RIGHT, _TOP, _BOTTOM = 46, 14, 34, 34
_MOST_TICKS = 6
_HATCH = 3  # points between the hairlines of time that nobody read


@dataclass(frozen=True, slots=True)
class Look:
    """The fonts and hues of a chart. `hatches` tells unread time by hairlines, not by a hue."""

    font: str
    bold: str
    card: str
    ink: str
    soft: str
    grid: str
    read: str
    limit: str
    above: str
    unread: str
    hatches: bool = False


ON_SCREEN = Look(  # a browser knows the family, and no face of it by name
    font="Helvetica",
    bold="Helvetica",
    card="#ffffff",
    ink="#0f201d",
    soft="#41524d",
    grid="#dbe2df",
    read="#073f3b",
    limit="#b1121a",
    above="#f9d5d3",
    unread="#e7ebe9",
)


def svg(
    standing: PlaceStanding, shown: Thinned, zone: ZoneInfo, units: UnitSystem, size: str
) -> str:
    """Return the chart as an SVG document in the units and the time of a venue."""
    title = standing.place.name[:40]
    drawn = drawing(standing, shown, zone, units, size=SIZES[size], look=ON_SCREEN, title=title)
    return str(renderSVG.drawToString(drawn))


def drawing(
    standing: PlaceStanding,
    shown: Thinned,
    zone: ZoneInfo,
    units: UnitSystem,
    *,
    size: tuple[float, float],
    look: Look,
    title: str,
) -> Drawing:
    """Return the chart in the units and the time of a venue: width and height in points."""
    chart = _Chart(standing, shown, zone, units, size, look)
    chart.shade()
    chart.add_grid()
    chart.add_limit()
    for run in shown.runs(max(standing.standard.longest_gap, shown.piece_s)):
        chart.add_run(run)
    chart.add_doubts()
    chart.add_words(title)
    return chart.drawing


class _Chart:
    def __init__(
        self,
        standing: PlaceStanding,
        shown: Thinned,
        zone: ZoneInfo,
        units: UnitSystem,
        size: tuple[float, float],
        look: Look,
    ) -> None:
        self.standing, self.shown, self.zone, self.look = standing, shown, zone, look
        self.is_us = units == "us"
        self.drawing = Drawing(*size, initialFontName=look.font)
        card = HexColor(look.card)
        self.drawing.add(Rect(0, 0, *size, fillColor=card, strokeColor=None))
        self.right, self.top = size[0] - _RIGHT, size[1] - _TOP
        ends = [each.coldest for each in shown.pieces] + [each.warmest for each in shown.pieces]
        ends += [each.limit for each in standing.standard.held if each.limit is not None]
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
        unread = self._hatch if self.look.hatches else self._band
        for gap in record.gaps:
            unread(gap.from_s, gap.until_s, HexColor(self.look.unread))
        for each in record.excursions:
            self._band(each.from_s, each.until_s, HexColor(self.look.above))

    def _band(self, from_s: int, until_s: int, hue: HexColor) -> None:
        left, right = self.x(from_s), self.x(until_s)
        height = self.top - _BOTTOM
        wide = max(right - left, 1.0)
        self.drawing.add(Rect(left, _BOTTOM, wide, height, fillColor=hue, strokeColor=None))

    def _hatch(self, from_s: int, until_s: int, hue: HexColor) -> None:
        left, right = self.x(from_s), self.x(until_s)
        for place in range(ceil(left / _HATCH), floor(right / _HATCH) + 1):
            x = place * _HATCH
            hairline = {"strokeColor": hue, "strokeWidth": 0.4}
            self.drawing.add(Line(x, _BOTTOM, x, self.top, **hairline))

    def add_grid(self) -> None:
        step = max(1, ceil((self.high - self.low) / _MOST_TICKS))
        grid, soft = HexColor(self.look.grid), HexColor(self.look.soft)
        for degrees in range(self.low, self.high + 1, step):
            height = self.y(degrees)
            self.drawing.add(Line(_LEFT, height, self.right, height, strokeColor=grid))
            self._word(_LEFT - 6, height - 4, str(degrees), anchor="end")
        span = self.shown.until_s - self.shown.from_s
        words = "%H:%M" if span <= 90_000 else "%a %d" if span < 700_000 else "%d %b"
        ticks = _MOST_TICKS if self.right > 500 else 4
        for number in range(ticks + 1):
            at_s = self.shown.from_s + span * number / ticks
            place = self.x(at_s)
            self.drawing.add(Line(place, _BOTTOM, place, _BOTTOM - 5, strokeColor=soft))
            anchor = "start" if number == 0 else "end" if number == ticks else "middle"
            local = datetime.fromtimestamp(at_s, self.zone)
            self._word(place, 12, local.strftime(words), anchor=anchor)

    def add_limit(self) -> None:
        """Draw the limit of each day at its height, and name it where it was last in force."""
        hue = HexColor(self.look.limit)
        dashed = {"strokeColor": hue, "strokeWidth": 1.5, "strokeDashArray": [7, 4]}
        held = self.standing.standard.held
        ends = [*(each.from_s for each in held[1:]), self.shown.until_s]
        named = None
        for each, until_s in zip(held, ends, strict=True):
            if each.limit is not None:
                height = self.y(self._degrees(each.limit))
                right = self.x(until_s)
                # A Line goes back where it came from, and fills its own dashes.
                points = [self.x(each.from_s), height, right, height]
                self.drawing.add(PolyLine(points, **dashed))
                named = (right, height)
        if named is not None:
            self._word(named[0] - 4, named[1] + 4, "limit", hue=hue, anchor="end")

    def add_doubts(self) -> None:
        """Put a bar over the time in which the readings are doubtful."""
        for from_s, until_s in self._doubtful:
            left, right = self.x(from_s), self.x(until_s)
            bar = {"strokeColor": HexColor(self.look.soft), "strokeWidth": 3}
            self.drawing.add(Line(left, self.top + 2, max(right, left + 1), self.top + 2, **bar))
            if right - left > 60:
                self._word(right, self.top + 7, "doubtful", anchor="end")

    @property
    def _doubtful(self) -> Iterator[tuple[float, float]]:
        for doubt in self.standing.standard.doubts:
            from_s = doubt.from_at.timestamp() if doubt.from_at else self.shown.from_s
            until_s = doubt.until_at.timestamp() if doubt.until_at else self.shown.until_s
            if from_s < self.shown.until_s and until_s > self.shown.from_s:
                yield max(from_s, self.shown.from_s), min(until_s, self.shown.until_s)

    def add_run(self, run: list[Piece]) -> None:
        """Draw pieces without a gap between, broken where they are doubtful."""
        doubtful = list(self._doubtful)
        points: list[float] = []
        was_doubtful = False
        for piece in run:
            middle_s = (piece.first_s + piece.last_s) / 2
            is_doubtful = any(from_s < middle_s < until_s for from_s, until_s in doubtful)
            if points and is_doubtful != was_doubtful:
                self._line(points, is_broken=was_doubtful)
                points = points[-2:]
            was_doubtful = is_doubtful
            middle = self.x(middle_s)
            low, high = (self.y(self._degrees(each)) for each in (piece.coldest, piece.warmest))
            points += [middle, low] if low == high else [middle, low, middle, high]
        self._line(points, is_broken=was_doubtful)

    def _line(self, points: list[float], *, is_broken: bool) -> None:
        if len(points) == 2:
            points = [points[0] - 1.5, points[1], points[0] + 1.5, points[1]]
        dashes = {"strokeDashArray": [4, 2]} if is_broken else {}
        hue = HexColor(self.look.read)
        self.drawing.add(PolyLine(points, strokeColor=hue, strokeWidth=1.5, **dashes))

    def add_words(self, title: str) -> None:
        unit = "°F" if self.is_us else "°C"
        words = {"fontName": self.look.bold, "fontSize": 13, "fillColor": HexColor(self.look.ink)}
        self.drawing.add(String(12, self.top + 14, f"{title} ({unit})", **words))

    def _word(
        self, x: float, y: float, text: str, *, hue: Color | None = None, anchor: str = "start"
    ) -> None:
        words = {"fontName": self.look.font, "fontSize": 11, "textAnchor": anchor}
        fill = hue or HexColor(self.look.soft)
        self.drawing.add(String(x, y, text, fillColor=fill, **words))
