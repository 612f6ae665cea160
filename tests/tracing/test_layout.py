"""Where the boxes of the drawing lie: read from left to right, none upon another."""

from itertools import combinations

from hypothesis import given

from kegsafe.rules.tracing import Node, Sort, depths
from kegsafe.tracing.layout import BOX_HEIGHT, BOX_WIDTH, layout_of
from tests.rules.draw_graphs import draw_graphs

LOT = Sort.LOT


def _edges(amounts):
    drawn = [(Node(LOT, draw.lot), draw.into) for draw in amounts.draws]
    filled = [
        (Node(Sort.BATCH, fill.batch), Node(Sort.FILL, key)) for key, fill in amounts.fills.items()
    ]
    return [*drawn, *filled]


@given(draw_graphs())
def test_every_line_runs_to_the_right_and_no_box_lies_upon_another(amounts):
    found = depths(amounts.draws, amounts.fills)
    edges = [edge for edge in _edges(amounts) if edge[0] in found]
    layout = layout_of(found, edges)
    corners = layout.corners
    assert corners.keys() == found.keys()
    for start, end in edges:
        assert corners[start][0] + BOX_WIDTH < corners[end][0]
    for (x1, y1), (x2, y2) in combinations(corners.values(), 2):
        assert abs(x1 - x2) >= BOX_WIDTH or abs(y1 - y2) >= BOX_HEIGHT
    for x, y in corners.values():
        assert 0 <= x <= layout.width - BOX_WIDTH
        assert 0 <= y <= layout.height - BOX_HEIGHT


def test_two_lots_stand_across_from_what_they_went_into():
    """Drawn in the order of their keys the two lines would cross."""
    upper, lower, one, other = (Node(LOT, key) for key in range(4))
    edges = [(upper, other), (lower, one)]
    corners = layout_of({upper: 0, lower: 0, one: 1, other: 1}, edges).corners
    assert corners[upper][1] > corners[lower][1]
    assert corners[other][1] > corners[one][1]
