"""Years of records around the one keg that is measured: inserted, not recorded.

The services would take hours for them. Every row is a copy of one that the
services wrote, different in its keys, its times and its state; they have no
entries in the ledger, so this is for measuring only.
"""

from collections.abc import Callable, Iterator
from datetime import datetime, timedelta

from django.db import connection, models, transaction

from kegsafe.batches.models import Draw, Fill, Preparation, Tapping
from kegsafe.benchmarks.bar import Bar
from kegsafe.cleaning.models import CleaningRecord
from kegsafe.cold_chain.models import LoggedReading, Reading
from kegsafe.cold_chain.services.log_store import Put, put_readings, write_hours
from kegsafe.equipment.models import Placement
from kegsafe.rules.cold.temperature_log import reading_centi_degc
from kegsafe.stock.models import Lot

KEGS, LINES = 30, 8
BATCHES_TO_A_LOT_FOR_THE_GLASS = 10

Different = Callable[[int], object]  # what a column holds in the row of this number


@transaction.atomic
def add_finished_batches(bar: Bar, count: int) -> None:
    """Add so many batches, each with a preparation, a keg poured to the end, and its cleaning.

    They lie in the past, an hour apart, spread over KEGS kegs and LINES lines
    of which the measured keg and its line are one each.
    """
    past = _Past(bar, count)
    past.make_batches()
    past.pour_them()
    past.clean_and_read()


@transaction.atomic
def add_full_kegs(bar: Bar, count: int) -> None:
    """Add so many kegs that hold the same drink as the measured one, standing beside it."""
    keg = copies(bar.keg, count, name=lambda n: f"F{n}", label_code=lambda n: f"full{n}")
    use = copies(bar.fill.use, count, keg_id=lambda n: keg + n)
    copies(bar.fill, count, keg_id=lambda n: keg + n, use_id=lambda n: use + n)
    copies(Placement.objects.get(keg=bar.keg), count, keg_id=lambda n: keg + n)


class _Past:
    def __init__(self, bar: Bar, count: int) -> None:
        self.bar, self.count = bar, count
        self.tapping = Tapping.objects.get(fill=bar.fill)
        keg = copies(bar.keg, KEGS - 1, name=lambda n: f"P{n}", label_code=lambda n: f"past{n}")
        line = copies(self.tapping.tap.line, LINES - 1, name=lambda n: f"P{n}")
        self.kegs = [bar.keg.pk, *range(keg, keg + KEGS - 1)]
        self.lines = [self.tapping.tap.line_id, *range(line, line + LINES - 1)]
        self.began, self.ended, self.cleaned = (self._hourly(minutes) for minutes in (0, 30, 40))

    def _hourly(self, minutes: int) -> Different:
        """Return a moment for each batch: a week back, an hour apart, so many minutes past."""
        start = self._first_began + timedelta(minutes=minutes)
        moments = [_stored(start - timedelta(hours=number)) for number in range(self.count)]
        return moments.__getitem__

    @property
    def _first_began(self) -> datetime:
        return self.bar.fill.filled_at - timedelta(days=7)

    def keg(self, number: int) -> int:
        return self.kegs[number % KEGS]

    def line(self, number: int) -> int:
        return self.lines[number % LINES]

    def make_batches(self) -> None:
        """Lots used up, preparations made of them, batches made of those."""
        made = Preparation.objects.select_related("lot").latest("pk")
        lot = self._used_up(made.lot, self.count, "M")
        preparation = copies(
            made, self.count, lot_id=lambda n: lot + n, began_at=self.began, finished_at=self.ended
        )
        for draw in made.draws.all():
            copies(draw, self.count, preparation_id=lambda n: preparation + n, drawn_at=self.began)
        self.batch = copies(
            self.bar.fill.batch, self.count, code=lambda n: f"P{n}", made_at=self.began
        )
        for draw in self.bar.fill.batch.draws.exclude(lot=made.lot):
            copies(draw, self.count, batch_id=lambda n: self.batch + n, drawn_at=self.began)
        of_it = Draw.objects.get(batch=self.bar.fill.batch, lot=made.lot)
        copies(
            of_it,
            self.count,
            batch_id=lambda n: self.batch + n,
            lot_id=lambda n: lot + n,
            drawn_at=self.began,
        )
        for item in self.bar.fill.batch.recipe.items.filter(where="glass"):
            poured = Lot.objects.filter(ingredient=item.ingredient).latest("pk")
            self._used_up(poured, self.count // BATCHES_TO_A_LOT_FOR_THE_GLASS, f"G{item.pk}-")

    def pour_them(self) -> None:
        """Each batch in a keg, on a tap, and out of it."""
        ended = {"began_at": self.began, "ended_at": self.ended}
        in_keg = copies(self.bar.fill.use, self.count, keg_id=self.keg, **ended)
        fill = copies(
            self.bar.fill,
            self.count,
            batch_id=lambda n: self.batch + n,
            keg_id=self.keg,
            use_id=lambda n: in_keg + n,
            filled_at=self.began,
            state=lambda _: Fill.State.EMPTIED.value,
            state_reason=lambda _: "Poured to the end.",
        )
        in_line = copies(self.tapping.use, self.count, line_id=self.line, **ended)
        copies(
            self.tapping,
            self.count,
            fill_id=lambda n: fill + n,
            use_id=lambda n: in_line + n,
            **ended,
        )
        stood = Placement.objects.get(keg=self.bar.keg)
        copies(stood, self.count, keg_id=self.keg, **ended)

    def clean_and_read(self) -> None:
        """A clean of the keg and one of the line after each, a temperature every half hour."""
        of_keg = CleaningRecord.objects.filter(keg=self.bar.keg).latest("pk")
        copies(of_keg, self.count, keg_id=self.keg, cleaned_at=self.cleaned)
        of_line = CleaningRecord.objects.filter(line=self.tapping.tap.line).latest("pk")
        copies(of_line, self.count, line_id=self.line, cleaned_at=self.cleaned)
        read = Placement.objects.get(keg=self.bar.keg, ended_at=None).place.readings.latest("pk")
        for moment in (self.began, self.ended):
            copies(read, self.count, read_at=moment)
        self._log(read)

    def _log(self, read: Reading) -> None:
        """The same readings in the log of the place, with its hours."""
        start = int(self._first_began.timestamp())
        moments = (
            start - number * 3600 + minutes * 60
            for number in range(self.count)
            for minutes in (0, 30)
        )
        degc = reading_centi_degc(read.temperature_degc)
        so_far = Put()
        put_readings(
            read.place_id,
            dict.fromkeys(moments, degc),
            LoggedReading.Source.HAND.value,
            so_far,
        )
        write_hours(read.place_id, so_far)

    def _used_up(self, lot: Lot, count: int, prefix: str) -> int:
        return copies(
            lot,
            count,
            code=lambda n: f"{prefix}{n}",
            came_into_being_at=self.began,
            amount_left=lambda _: 0,
        )


def copies(pattern: models.Model, count: int, **different: Different) -> int:
    """Insert so many rows like `pattern`, different in some columns; return the first key.

    Each of `different` is asked with the number of the row, from 0 on, and
    gives what the database stores.
    """
    model = type(pattern)
    fields = model._meta.concrete_fields
    same = [field.get_db_prep_save(getattr(pattern, field.attname), connection) for field in fields]
    first = model._default_manager.latest("pk").pk + 1
    changing = {"id": lambda number: first + number, **different}
    places = [(n, changing[f.attname]) for n, f in enumerate(fields) if f.attname in changing]

    def rows() -> Iterator[list[object]]:
        for number in range(count):
            row = same.copy()
            for place, of in places:
                row[place] = of(number)
            yield row

    columns = ", ".join(connection.ops.quote_name(field.column) for field in fields)
    marks = ", ".join(["%s"] * len(fields))
    with connection.cursor() as cursor:
        cursor.executemany(
            f"INSERT INTO {model._meta.db_table} ({columns}) VALUES ({marks})",  # noqa: S608
            rows(),
        )
    return first


def _stored(moment: datetime) -> object:
    return connection.ops.adapt_datetimefield_value(moment)
