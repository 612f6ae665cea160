"""Draw a plot as SVG: a light card of its own, legible in any theme and on paper."""

from collections.abc import Sequence

from reportlab.graphics import renderSVG
from reportlab.graphics.charts.axes import XValueAxis, YValueAxis
from reportlab.graphics.charts.lineplots import LinePlot
from reportlab.graphics.shapes import Circle, Drawing, Line, Rect, String
from reportlab.lib.colors import Color, HexColor
from reportlab.pdfbase.pdfmetrics import stringWidth

from kegsafe.calculators.plot import Plot, Point
from kegsafe.quantities import UnitSystem

# Width and height for a desk and for a phone, so that words keep their size on both.
WIDE, NARROW = (580, 390), (372, 340)
_LEFT, _TOP, _BOTTOM = 52, 50, 52
_FONT, _BOLD, _SIZE = "Helvetica", "Helvetica-Bold", 13

CARD, INK, SOFT, GRID = (HexColor(hue) for hue in ("#ffffff", "#0f201d", "#41524d", "#dbe2df"))
LEVEL, POINT = HexColor("#b1121a"), HexColor("#0a5953")
# Told apart by their names beside them and by their dashes, not by hue alone.
_HUES = tuple(HexColor(hue) for hue in ("#073f3b", "#234079", "#8a4b12", "#5b2a6e", "#41524d"))
_DASHES: tuple[Sequence[int] | None, ...] = (None, (9, 4), (3, 3), (11, 3, 2, 3), (5, 2))


def svg(plot: Plot, units: UnitSystem, size: tuple[int, int] = WIDE) -> str:
    """The plot as an SVG document, in the units of a venue."""
    drawing = Drawing(*size)
    drawing.add(Rect(0, 0, *size, fillColor=CARD, strokeColor=None))
    chart = _chart(plot, units, size)
    drawing.add(chart)
    _add_words(drawing, plot, units, chart)
    on_paper = _Paper(drawing, plot, units, chart)
    on_paper.add_levels()
    on_paper.add_names()
    on_paper.add_point()
    return str(renderSVG.drawToString(drawing))


def _chart(plot: Plot, units: UnitSystem, size: tuple[int, int]) -> LinePlot:
    chart = LinePlot()
    chart.x, chart.y = _LEFT, _BOTTOM
    chart.width = size[0] - _LEFT - _room_for_names(plot)
    chart.height = size[1] - _BOTTOM - _TOP
    top = _top(plot)
    chart.data = [
        [_scaled(plot, units, point) for point in _below(line.points, top)] for line in plot.lines
    ]
    for place in range(len(plot.lines)):
        chart.lines[place].strokeColor = _HUES[place % len(_HUES)]
        chart.lines[place].strokeDashArray = _DASHES[place % len(_DASHES)]
        chart.lines[place].strokeWidth = 2.25
    _shape_axes(chart, plot, units)
    return chart


def _room_for_names(plot: Plot) -> float:
    names = [level.name for level in plot.levels]
    names += [line.name for line in plot.lines] if len(plot.lines) > 1 else []
    return 22.0 + max((stringWidth(name, _FONT, _SIZE) for name in names), default=0.0)


def _below(points: Sequence[Point], top: float) -> list[Point]:
    """A rising curve up to where it leaves the drawing."""
    kept = [point for point in points if point[1] <= top]
    if not kept or len(kept) == len(points):
        return list(points)
    (x, y), (beyond_x, beyond_y) = points[len(kept) - 1], points[len(kept)]
    return [*kept, (x + (beyond_x - x) * (top - y) / (beyond_y - y), top)]


def _shape_axes(chart: LinePlot, plot: Plot, units: UnitSystem) -> None:
    xs = [_scaled(plot, units, point)[0] for line in plot.lines for point in line.points]
    chart.xValueAxis.valueMin, chart.xValueAxis.valueMax = min(xs), max(xs)
    lowest, highest = (_scaled(plot, units, (0.0, end))[1] for end in (plot.lowest, _top(plot)))
    chart.yValueAxis.valueMin, chart.yValueAxis.valueMax = lowest, highest
    for axis in (chart.xValueAxis, chart.yValueAxis):
        _shape_axis(axis)
    chart.xValueAxis.labels.dy = -5
    chart.yValueAxis.labels.dx = -8
    chart.yValueAxis.visibleGrid = True


def _shape_axis(axis: XValueAxis | YValueAxis) -> None:
    axis.maximumTicks = 7
    axis.strokeColor, axis.gridStrokeColor = SOFT, GRID
    axis.labels.fontName, axis.labels.fontSize, axis.labels.fillColor = _FONT, _SIZE, SOFT
    axis.labelTextFormat = _tick


def _tick(value: float) -> str:
    return f"{value:.6g}"


def _top(plot: Plot) -> float:
    if plot.highest is not None:
        return plot.highest
    heights = [point[1] for line in plot.lines for point in line.points]
    heights += [level.at for level in plot.levels]
    return 1.06 * max([*heights, *([plot.point[1]] if plot.point else [])])


def _scaled(plot: Plot, units: UnitSystem, point: Point) -> Point:
    (x_factor, x_offset), (y_factor, y_offset) = plot.x.scale(units), plot.y.scale(units)
    return point[0] * x_factor + x_offset, point[1] * y_factor + y_offset


def _add_words(drawing: Drawing, plot: Plot, units: UnitSystem, chart: LinePlot) -> None:
    top = drawing.height
    drawing.add(_string(12, top - 22, plot.title, size=15, font=_BOLD))
    drawing.add(_string(12, top - 41, plot.y.heading(units), hue=SOFT))
    middle = chart.x + chart.width / 2.0
    drawing.add(_string(middle, 12, plot.x.heading(units), hue=SOFT, anchor="middle"))


def _string(
    x: float,
    y: float,
    text: str,
    *,
    hue: Color = INK,
    size: float = _SIZE,
    font: str = _FONT,
    anchor: str = "start",
) -> String:
    return String(x, y, text, fontName=font, fontSize=size, fillColor=hue, textAnchor=anchor)


class _Paper:
    """Puts marks and names where the chart's axes place their numbers."""

    def __init__(self, drawing: Drawing, plot: Plot, units: UnitSystem, chart: LinePlot) -> None:
        self.drawing, self.plot, self.units, self.chart = drawing, plot, units, chart
        self.right, self.top = chart.x + chart.width, chart.y + chart.height
        # Axes know their scale once they are told where they lie.
        for axis in (chart.xValueAxis, chart.yValueAxis):
            length = chart.width if axis is chart.xValueAxis else chart.height
            axis.setPosition(chart.x, chart.y, length)
            axis.configure(chart.data)

    def place(self, point: Point) -> Point:
        """Where a point of the plot lies on the drawing."""
        x, y = _scaled(self.plot, self.units, point)
        return self.chart.xValueAxis.scale(x), self.chart.yValueAxis.scale(y)

    def add_levels(self) -> None:
        """A dashed line across for each mark, with its name on it."""
        written: list[float] = []
        for level in sorted(self.plot.levels, key=lambda each: each.at):
            height = self.place((0.0, level.at))[1]
            if not self.chart.y <= height <= self.top:
                continue
            dashed = {"strokeColor": LEVEL, "strokeWidth": 1.5, "strokeDashArray": [7, 4]}
            self.drawing.add(Line(self.chart.x, height, self.right, height, **dashed))
            foot = _clear_of(written, height - 4.5)
            written.append(foot)
            self.drawing.add(_string(self.right + 7, foot, level.name, hue=LEVEL, size=11.5))

    def add_names(self) -> None:
        """The name of each line where it leaves the drawing, none upon another."""
        if len(self.plot.lines) == 1:
            return
        written: list[float] = []
        ends = [
            (self._last_inside(line.points), line.name, _HUES[place % len(_HUES)])
            for place, line in enumerate(self.plot.lines)
        ]
        for (_, height), name, hue in sorted(ends, key=lambda each: each[0][1]):
            foot = _clear_of(written, height - 4.5)
            written.append(foot)
            self.drawing.add(_string(self.right + 7, foot, name, hue=hue))

    def _last_inside(self, points: Sequence[Point]) -> Point:
        inside = [place for place in map(self.place, points) if place[1] <= self.top]
        return inside[-1] if inside else (self.right, self.top)

    def add_point(self) -> None:
        """The answer: a ring with a dot, and its name beside it."""
        if self.plot.point is None:
            return
        x, y = self.place(self.plot.point)
        if not (self.chart.x <= x <= self.right + 1 and self.chart.y <= y <= self.top + 1):
            return
        self.drawing.add(Circle(x, y, 8, fillColor=CARD, strokeColor=POINT, strokeWidth=2.5))
        self.drawing.add(Circle(x, y, 3.5, fillColor=POINT, strokeColor=None))
        name = self.plot.point_name
        wide = stringWidth(name, _BOLD, _SIZE)
        to_the_left = x - wide - 14 > self.chart.x
        left = x - wide - 13 if to_the_left else x + 13
        foot = min(y + 9, self.top - 6)
        self.drawing.add(
            Rect(left - 3, foot - 4, wide + 6, 17, fillColor=CARD, strokeColor=None, rx=3, ry=3)
        )
        self.drawing.add(_string(left, foot, name, hue=POINT, font=_BOLD))


def _clear_of(written: Sequence[float], foot: float) -> float:
    """The lowest place at or above a wish where no name from below is in the way."""
    return max([foot, *(each + 15.0 for each in written)])
