"""How long a trace takes through a graph of a hundred thousand lots, twenty levels deep.

Against the bare recursive query: typed by hand, sent on a plain cursor, its rows fetched.
"""

from collections.abc import Iterator

from django.db import connection, transaction

from kegsafe.batches.models import Draw, Preparation
from kegsafe.benchmarks.bar import Bar, open_bar
from kegsafe.benchmarks.crowd import copies
from kegsafe.benchmarks.measuring import Comparison, compare, take_turns
from kegsafe.benchmarks.throw_away import Site
from kegsafe.equipment.models import Placement
from kegsafe.tracing.queries import fills_from, lots_behind_fill, lots_from

LOTS, LEVELS = 100_000, 20
MOST_OF_BARE = 2.0
_IN_A_LEVEL = LOTS // LEVELS
_DRAWS = 3  # lots of the level before that each lot is made of, so that all soon hang together
_BATCHES = 500  # one of every tenth lot of the last level, each in a keg of its own
_STEP = _IN_A_LEVEL // _BATCHES

_BARE_FORWARD = """
WITH RECURSIVE reached(lot_id) AS (
    SELECT %s
    UNION
    SELECT made.lot_id FROM reached
    JOIN batches_draw draw ON draw.lot_id = reached.lot_id
    JOIN batches_preparation made ON made.id = draw.preparation_id
)
"""
_BARE_LOTS = f"{_BARE_FORWARD} SELECT lot_id FROM reached"  # noqa: S608
_BARE_KEGS = f"""{_BARE_FORWARD}
SELECT fill.id, keg.name, fill.filled_at, tap.name, tapping.began_at, tapping.ended_at
FROM batches_fill fill JOIN equipment_keg keg ON keg.id = fill.keg_id
LEFT JOIN batches_tapping tapping ON tapping.fill_id = fill.id
LEFT JOIN equipment_tap tap ON tap.id = tapping.tap_id
WHERE fill.batch_id IN (
    SELECT draw.batch_id FROM batches_draw draw JOIN reached ON reached.lot_id = draw.lot_id
)
"""  # noqa: S608
_BARE_BACK = """
WITH RECURSIVE behind(lot_id) AS (
    SELECT draw.lot_id FROM batches_draw draw
    JOIN batches_fill fill ON fill.batch_id = draw.batch_id WHERE fill.id = %s
    UNION
    SELECT draw.lot_id FROM behind
    JOIN batches_preparation made ON made.lot_id = behind.lot_id
    JOIN batches_draw draw ON draw.preparation_id = made.id
)
SELECT lot_id FROM behind
"""


def measure(site: Site, rounds: int) -> Iterator[Comparison]:
    """Measure the walk to the lots, the walk to the kegs, and the walk back from a keg."""
    bar = open_bar()
    graph = _Graph(bar)
    with transaction.atomic():
        graph.make()
    venue, root, fill = bar.venue, graph.root, graph.fill
    pairs = (
        (
            "forward, lots",
            lambda: lots_from(venue, [root]),
            lambda: _rows(_BARE_LOTS, root),
        ),
        (
            "forward, kegs with taps and times",
            lambda: fills_from(venue, [root]),
            lambda: _rows(_BARE_KEGS, root),
        ),
        (
            "back from a keg",
            lambda: lots_behind_fill(venue, fill),
            lambda: _rows(_BARE_BACK, fill),
        ),
    )
    for name, work, bare in pairs:
        found, expected = len(work()), len(bare())
        if found != expected:
            raise RuntimeError(f"{name}: {found} found, {expected} by the bare query")
        what, yardstick = f"{name}, {found:,} found", "bare recursive query"
        seconds = take_turns({what: work, yardstick: bare}, rounds=rounds, times=1)
        yield compare(what, yardstick, seconds, bound=MOST_OF_BARE)


def _rows(sql: str, *values: int) -> list[tuple[object, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, values)
        return cursor.fetchall()


class _Graph:
    """The lots in levels: those of the first were bought, each other is made of the one before.

    Lot n of a level is made of lots 3n, 3n + 1 and 3n + 2 of the level before, counted round
    and round: three levels on it is made of 27, and soon of all.
    """

    def __init__(self, bar: Bar) -> None:
        self.bar = bar
        self.root = self.fill = 0

    def make(self) -> None:
        """Insert the lots, what they were made of, and a keg for every tenth of the last."""
        made = Preparation.objects.select_related("lot").latest("pk")
        first = copies(made.lot, LOTS, code=lambda n: f"G{n}")
        preparation = copies(made, LOTS - _IN_A_LEVEL, lot_id=lambda n: first + _IN_A_LEVEL + n)
        draw = Draw.objects.filter(preparation=made).latest("pk")
        copies(
            draw,
            _DRAWS * (LOTS - _IN_A_LEVEL),
            preparation_id=lambda n: preparation + n // _DRAWS,
            lot_id=lambda n: first + _lot_before(n),
        )
        last = first + LOTS - _IN_A_LEVEL
        self.fill = self._fill_kegs(last)
        self.root = first

    def _fill_kegs(self, last_level: int) -> int:
        fill = self.bar.fill
        batch = copies(fill.batch, _BATCHES, code=lambda n: f"G{n}")
        into_batch = Draw.objects.filter(batch=fill.batch).latest("pk")
        copies(
            into_batch,
            _BATCHES,
            batch_id=lambda n: batch + n,
            lot_id=lambda n: last_level + n * _STEP,
        )
        keg = copies(fill.keg, _BATCHES, name=lambda n: f"G{n}", label_code=lambda n: f"graph{n}")
        use = copies(fill.use, _BATCHES, keg_id=lambda n: keg + n)
        copies(Placement.objects.get(keg=fill.keg), _BATCHES, keg_id=lambda n: keg + n)
        return copies(
            fill,
            _BATCHES,
            batch_id=lambda n: batch + n,
            keg_id=lambda n: keg + n,
            use_id=lambda n: use + n,
        )


def _lot_before(number: int) -> int:
    """Return which lot the draw of this number takes from, counted over all levels."""
    level, draw = divmod(number, _DRAWS * _IN_A_LEVEL)
    return level * _IN_A_LEVEL + draw % _IN_A_LEVEL
