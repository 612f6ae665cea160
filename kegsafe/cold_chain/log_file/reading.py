"""The readings of a logger file, one after another, in bounded memory.

A row that cannot be read is handed out with its line and the reason and stops nothing. What
throws doubt on the whole file (dates in another order, hours the zone never had, a second
header in another unit) is collected in `doubts`: with one of them nothing may be kept unseen.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import BinaryIO, NamedTuple, TypeAlias

from kegsafe.cold_chain.log_file import moments, temperatures
from kegsafe.cold_chain.log_file.decoding import LONGEST_LINE, TOO_LONG, pieces_of_lines
from kegsafe.cold_chain.log_file.doubled_hour import DoubledHour
from kegsafe.cold_chain.log_file.moments import NoMoment
from kegsafe.cold_chain.log_file.rows import cells_of
from kegsafe.cold_chain.log_file.shape import LogShape, UnreadableLog
from kegsafe.cold_chain.log_file.temperatures import NoTemperature
from kegsafe.cold_chain.log_file.zones import instants, start_of_even_day, zone_of

_FAR_AWAY_S = 1 << 40
_MOST_REMEMBERED = 100_000  # texts; a file that repeats nothing must not fill the memory
_MOST_DOUBTS = 20
_ONE_TIME_ALL_YEAR = "If the logger keeps one time all year, choose an offset such as +01:00."


class LogReading(NamedTuple):
    """One reading: the line it stands on, its second of the epoch, hundredths of a degC."""

    line: int
    at_s: int
    centi_degc: int


@dataclass(frozen=True, slots=True)
class BadRow:
    """A row that was not read: its line, what stands there, and why."""

    line: int
    text: str
    reason: str


Row: TypeAlias = LogReading | BadRow


class _Twice(Exception):
    """A local time that stands for two instants."""

    def __init__(self, local: datetime, both: tuple[int, int], centi_degc: int) -> None:
        super().__init__(local)
        self.local, self.both, self.centi_degc = local, both, centi_degc


class LogReader:
    """Iterates once over the rows of a file.

    Attributes
    ----------
    good, bad : rows handed out so far
    out_of_order : readings no later than the one before
    notices : sentences on what was worked out, such as a doubled hour
    doubts : sentences on why the file as a whole may be misread; complete at the end
    """

    def __init__(self, stream: BinaryIO, shape: LogShape, until_s: int | None = None) -> None:
        zone = zone_of(shape.zone or "")
        if not shape.is_whole or zone is None:
            raise UnreadableLog("Something is still to be chosen before this file can be read.")
        self.shape, self._zone, self._stream = shape, zone, stream
        self._until_s = _FAR_AWAY_S if until_s is None else until_s
        self.good = self.bad = self.out_of_order = 0
        self.notices: list[str] = []
        self.doubts: list[str] = []
        self._days: dict[str, int] = {}
        self._clocks: dict[str, int] = {}
        self._degrees: dict[str, int] = {}
        self._joint = " "
        self._form = ""
        self._last_s = -_FAR_AWAY_S
        self._doubled = DoubledHour()

    def __iter__(self) -> Iterator[Row]:
        """Yield readings and bad rows in the order of the file, a doubled hour when it is over."""
        before = 0
        for lines in pieces_of_lines(self._stream, self.shape.encoding):
            skipped = max(0, self.shape.first_row - 1 - before)
            yield from self._rows(lines[skipped:], before + skipped + 1)
            before += len(lines)
        yield from self._told()
        self._close()

    def _rows(self, lines: list[str], first_number: int) -> Iterator[Row]:
        """Read some lines: nearly all of them by looking their texts up."""
        shape, days, clocks, degrees = self.shape, self._days, self._clocks, self._degrees
        separator, width, until_s = shape.separator, shape.width, self._until_s
        time_columns, value = shape.time_columns or (), shape.temperature_column or 0
        day_at, clock_at, is_joined = time_columns[0], time_columns[-1], len(time_columns) == 1
        held = self._doubled.held
        for number, line in enumerate(lines, first_number):
            cells = line.split(separator) if '"' not in line else cells_of(line, separator) or []
            try:
                if is_joined:
                    day, _, clock = cells[day_at].partition(self._joint)
                else:
                    day, clock = cells[day_at], cells[clock_at]
                at_s, centi_degc = days[day] + clocks[clock], degrees[cells[value]]
            except (KeyError, IndexError):
                yield from self._carefully(number, line)
                continue
            if at_s > until_s or held or len(cells) != width:
                yield from self._carefully(number, line)
                continue
            if at_s <= self._last_s:
                self.out_of_order += 1
            self._last_s = at_s
            self.good += 1
            yield LogReading(number, at_s, centi_degc)

    def _carefully(self, number: int, line: str) -> Iterator[Row]:
        """Read a line that holds something new, or something wrong."""
        if not line.strip():
            return
        try:
            at_s, centi_degc = self._parsed(line)
        except (NoMoment, NoTemperature) as error:
            yield self._bad(number, line, str(error))
        except _Twice as twice:
            if not self._doubled.takes(twice.local):
                yield from self._told()
            self._doubled.hold(number, twice.local, twice.both, twice.centi_degc)
        else:
            yield from self._told()
            yield self._good(number, at_s, centi_degc)

    def _good(self, number: int, at_s: int, centi_degc: int) -> LogReading:
        self.good += 1
        self.out_of_order += at_s <= self._last_s
        self._last_s = at_s
        return LogReading(number, at_s, centi_degc)

    def _bad(self, number: int, line: str, reason: str) -> BadRow:
        self.bad += 1
        self._doubt_other_unit(number, line)
        text = "(too long)" if line == TOO_LONG else line[:120]
        return BadRow(number, text, reason)

    def _parsed(self, line: str) -> tuple[int, int]:
        """Return instant and temperature of a line, and remember the texts they came from."""
        cells = self._cells(line)
        value = cells[self.shape.temperature_column or 0]
        decimal, unit = self.shape.decimal, self.shape.unit
        assert decimal is not None  # noqa: S101 - the shape is whole
        assert unit is not None  # noqa: S101 - the shape is whole
        day_text, clock_text = self._day_and_clock(cells)
        clock_s, offset_s = self._clock(clock_text)
        centi_degc = self._degrees.get(value)
        if centi_degc is None:
            centi_degc = temperatures.centi_degc(value, decimal, unit)
        at_s = self._instant(day_text, clock_s, offset_s, centi_degc)
        if at_s > self._until_s:
            raise NoMoment(f'"{day_text[:40]} {clock_text[:40]}" is still to come.')
        self._remember(self._clocks, clock_text, clock_s - offset_s)
        self._remember(self._degrees, value, centi_degc)
        return at_s, centi_degc

    def _cells(self, line: str) -> list[str]:
        if line == TOO_LONG:
            raise NoMoment(f"The line is longer than {LONGEST_LINE} characters.")
        cells = cells_of(line, self.shape.separator)
        if cells is None:
            raise NoMoment("A quote is opened and not closed.")
        if len(cells) != self.shape.width:
            raise NoMoment(f"The row has {len(cells)} cells; rows here have {self.shape.width}.")
        return cells

    def _day_and_clock(self, cells: list[str]) -> tuple[str, str]:
        columns = self.shape.time_columns or ()
        if len(columns) == 2:
            return cells[columns[0]], cells[columns[1]]
        cell = cells[columns[0]]
        day, clock = moments.split(cell)
        for joint in (" ", "T"):
            if cell.partition(joint)[::2] == (day, clock):
                self._joint = joint
        return day, clock

    def _clock(self, text: str) -> tuple[int, int]:
        """Return seconds after midnight and the offset to take off them."""
        clock = moments.clock_of(text)
        if (clock.offset_s is not None) != self.shape.has_offset:
            has = "has no offset" if self.shape.has_offset else "has an offset of its own"
            raise NoMoment(f'"{text[:40]}" {has}, unlike the other rows.')
        if clock.is_twelve_hour != self.shape.is_twelve_hour:
            has = "has no am or pm" if self.shape.is_twelve_hour else "has an am or pm"
            raise NoMoment(f'"{text[:40]}" {has}, unlike the other rows.')
        return clock.seconds, clock.offset_s or 0

    def _instant(self, day_text: str, clock_s: int, offset_s: int, centi_degc: int) -> int:
        known_midnight_s = self._days.get(day_text)
        if known_midnight_s is not None:
            return known_midnight_s + clock_s - offset_s
        order = self.shape.date_order
        assert order is not None  # noqa: S101 - the shape is whole
        try:
            day = moments.day_of(day_text, order)
        except NoMoment:
            self._doubt_order(day_text)
            raise
        self._check_form(day_text)
        zone = UTC if self.shape.has_offset else self._zone
        midnight_s = start_of_even_day(day, zone)
        if midnight_s is not None:
            self._remember(self._days, day_text, midnight_s)
            return midnight_s + clock_s - offset_s
        local = datetime(day.year, day.month, day.day) + timedelta(seconds=clock_s)  # noqa: DTZ001 - the zone follows
        return self._on_uneven_day(local, centi_degc)

    def _check_form(self, day_text: str) -> None:
        """Refuse a date written unlike the first one: it may mean another order."""
        form = moments.form_of(day_text)
        self._form = self._form or form
        if form != self._form:
            raise NoMoment(f'"{day_text[:40]}" is written unlike the other dates of this file.')

    def _on_uneven_day(self, local: datetime, centi_degc: int) -> int:
        found = instants(local, self._zone)
        if len(found) == 2:
            raise _Twice(local, (found[0], found[1]), centi_degc)
        if not found:
            self._doubt(
                f"The file has an hour of {local:%Y-%m-%d} that never was in {self.shape.zone}: "
                f"the clocks went forward. {_ONE_TIME_ALL_YEAR}"
            )
            raise NoMoment(f"{local:%Y-%m-%d %H:%M} never was in {self.shape.zone}.")
        return found[0]

    def _told(self) -> Iterator[Row]:
        """Hand out the rows of a doubled hour that is over, if there is one."""
        if not self._doubled.held:
            return
        told = self._doubled.told(self._last_s if self.good else None)
        if told.notice:
            self.notices.append(told.notice)
        for line, at_s, centi_degc in told.readings:
            if at_s > self._until_s:
                self.bad += 1
                yield BadRow(line, "", "This time is still to come.")
            else:
                yield self._good(line, at_s, centi_degc)
        if told.refused:
            self._doubt(
                f"An hour of {told.refused[0][1][:10]} came twice in {self.shape.zone}, and the "
                f"file does not show both. {_ONE_TIME_ALL_YEAR}"
            )
        for line, text in told.refused:
            self.bad += 1
            yield BadRow(line, text, "This hour came twice and the file does not show which it is.")

    def _close(self) -> None:
        """Say at the end what only the whole file shows."""
        if not self.out_of_order:
            return
        self.notices.append(
            f"{self.out_of_order} readings are no later than the one before: they are kept by "
            "their time, not by their order."
        )
        hours = {seconds // 3600 for seconds in self._clocks.values()}
        if not self.shape.is_twelve_hour and 12 in hours and hours <= set(range(1, 13)):
            self._doubt(
                "The clock of the file goes from 1 to 12 and runs back: it looks like a 12-hour "
                "clock without am and pm."
            )

    def _remember(self, kept: dict[str, int], text: str, value: int) -> None:
        if len(kept) >= _MOST_REMEMBERED:
            kept.clear()
        kept[text] = value

    def _doubt_order(self, day_text: str) -> None:
        if moments.orders_of(day_text) and not self.shape.date_order_is_shown:
            self._doubt(
                f'"{day_text[:40]}" is a day only when dates are read in another order than the '
                "one chosen."
            )

    def _doubt_other_unit(self, number: int, line: str) -> None:
        for cell in (cells_of(line, self.shape.separator) or [])[: self.shape.width]:
            others = temperatures.units_named(cell) - {self.shape.unit}
            if others and not temperatures.is_number(cell):
                self._doubt(
                    f'Line {number} says "{cell.strip()[:40]}": another unit may follow it.'
                )

    def _doubt(self, sentence: str) -> None:
        if sentence not in self.doubts and len(self.doubts) < _MOST_DOUBTS:
            self.doubts.append(sentence)


def read(stream: BinaryIO, shape: LogShape, until_s: int | None = None) -> LogReader:
    """Return a reader over the rows of a file, in bounded memory.

    Parameters
    ----------
    stream : open for reading bytes, at its beginning
    shape : whole, from `sniff` and the answers to its questions
    until_s : second of the epoch after which no reading can have been taken; None: unchecked

    Raises UnreadableLog when something of the shape is still to be chosen.
    """
    return LogReader(stream, shape, until_s)
