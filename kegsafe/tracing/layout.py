"""Where the boxes of a trace's diagram lie: in columns by depth, with few crossing lines."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from kegsafe.rules.tracing import Node

BOX_WIDTH, BOX_HEIGHT = 184, 52
_GAP_ACROSS, _GAP_DOWN, MARGIN = 52, 16, 14
_SWEEPS = 4

Edge = tuple[Node, Node]


@dataclass(frozen=True, slots=True)
class Layout:
    """The size of a drawing and the lower left corner of each box, in points from below left."""

    width: float
    height: float
    corners: Mapping[Node, tuple[float, float]]


def layout_of(depths: Mapping[Node, int], edges: Sequence[Edge]) -> Layout:
    """Return where each node lies: deeper to the right, each near what it hangs together with."""
    columns = _columns(depths)
    _untangle(columns, edges)
    tallest = max(map(len, columns), default=1)
    height = 2 * MARGIN + tallest * (BOX_HEIGHT + _GAP_DOWN) - _GAP_DOWN
    corners = {}
    for place, column in enumerate(columns):
        x = MARGIN + place * (BOX_WIDTH + _GAP_ACROSS)
        tall = len(column) * (BOX_HEIGHT + _GAP_DOWN) - _GAP_DOWN
        top = height - (height - tall) / 2
        for row, node in enumerate(column):
            corners[node] = (x, top - BOX_HEIGHT - row * (BOX_HEIGHT + _GAP_DOWN))
    width = 2 * MARGIN + len(columns) * (BOX_WIDTH + _GAP_ACROSS) - _GAP_ACROSS
    return Layout(width, height, corners)


def _columns(depths: Mapping[Node, int]) -> list[list[Node]]:
    """Return the nodes by depth, the columns that would stay empty left out."""
    by_depth: dict[int, list[Node]] = defaultdict(list)
    for node in sorted(depths):
        by_depth[depths[node]].append(node)
    return [by_depth[depth] for depth in sorted(by_depth)]


def _untangle(columns: list[list[Node]], edges: Sequence[Edge]) -> None:
    """Sort each column by the mean place of its neighbours, to the right and back again.

    The barycentre method of Sugiyama, Tagawa and Toda 1981. [from memory]
    """
    before, after = defaultdict(list), defaultdict(list)
    for start, end in edges:
        before[end].append(start)
        after[start].append(end)
    for sweep in range(_SWEEPS):
        forward = sweep % 2 == 0
        neighbours = before if forward else after
        for column in columns if forward else reversed(columns):
            places = {
                node: (place + 0.5) / len(each)
                for each in columns
                for place, node in enumerate(each)
            }
            column.sort(key=lambda node: _mean([places[n] for n in neighbours[node]], places[node]))


def _mean(places: Sequence[float], own: float) -> float:
    return sum(places) / len(places) if places else own
