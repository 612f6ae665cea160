"""The few shapes a label is set from: a column, two columns side by side, a frame, a black bar.

They stand on ReportLab's flowables, which measure themselves, so that a label
is known to fit before it is drawn. Lengths are in points.
"""

from collections.abc import Sequence

from reportlab.platypus import Flowable


class Column(Flowable):
    """Parts one below the other with a gap between them; `foot` stands on the ground."""

    def __init__(
        self, parts: Sequence[Flowable], *, gap: float, foot: Flowable | None = None
    ) -> None:
        super().__init__()
        self.parts = list(parts)
        self.gap = gap
        self.foot = foot

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        """Return the width given and the height needed, which may be more than there is."""
        everything = [*self.parts, self.foot] if self.foot else self.parts
        self._heights = [part.wrap(available_width, available_height)[1] for part in everything]
        self.needed = sum(self._heights) + self.gap * max(len(everything) - 1, 0)
        self.width = available_width
        self.height = max(self.needed, available_height) if self.foot else self.needed
        return self.width, self.height

    def draw(self) -> None:
        """Draw the parts downwards from the top, the foot upwards from the ground."""
        top = self.height
        for part, height in zip(self.parts, self._heights, strict=False):
            part.drawOn(self.canv, 0, top - height)
            top -= height + self.gap
        if self.foot:
            self.foot.drawOn(self.canv, 0, 0)


class SideBySide(Flowable):
    """Two parts beside each other, both from the top; the right one has a fixed width."""

    def __init__(self, left: Flowable, right: Flowable, *, right_width: float, gap: float) -> None:
        super().__init__()
        self.left, self.right = left, right
        self.right_width, self.gap = right_width, gap

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        """Return the width given and the height of the taller part."""
        left_width = available_width - self.right_width - self.gap
        self._heights = (
            self.left.wrap(left_width, available_height)[1],
            self.right.wrap(self.right_width, available_height)[1],
        )
        self.width, self.height = available_width, max(self._heights)
        return self.width, self.height

    def draw(self) -> None:
        """Draw both parts down from the top."""
        left, right = self._heights
        self.left.drawOn(self.canv, 0, self.height - left)
        self.right.drawOn(self.canv, self.width - self.right_width, self.height - right)


class Framed(Flowable):
    """A part inside a black line or on a black bar: never grey, which thermal paper loses."""

    def __init__(
        self, inside: Flowable, *, padding: float, line: float = 0, is_bar: bool = False
    ) -> None:
        super().__init__()
        self.inside = inside
        self.padding, self.line, self.is_bar = padding, line, is_bar

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        """Return the width given and the height with line and padding."""
        edge = 2 * (self.padding + self.line)
        height = self.inside.wrap(available_width - edge, available_height - edge)[1]
        self.width, self.height = available_width, height + edge
        return self.width, self.height

    def draw(self) -> None:
        """Draw the line in the middle of its width, so that none of it stands outside."""
        inset = self.line / 2
        self.canv.setLineWidth(self.line)
        self.canv.rect(
            inset,
            inset,
            self.width - self.line,
            self.height - self.line,
            stroke=int(self.line > 0),
            fill=int(self.is_bar),
        )
        self.inside.drawOn(self.canv, self.padding + self.line, self.padding + self.line)
