"""What each cold place read, hour by hour, with its chart and every excursion."""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from functools import cache
from itertools import groupby, pairwise

from django.db.models import QuerySet

from kegsafe.cold_chain.chart_drawing import Look as ChartLook
from kegsafe.cold_chain.chart_drawing import drawing
from kegsafe.cold_chain.models import CorrectiveAction, HourOfReadings, ImportedLog, Reading
from kegsafe.cold_chain.queries import readings
from kegsafe.cold_chain.queries.chart import thinned
from kegsafe.cold_chain.queries.standing import PlaceStanding, Standard, actions_about
from kegsafe.frame.templatetags.kegsafe import duration, severity_word
from kegsafe.inspection.blocks import (
    Block,
    Bold,
    Column,
    Figure,
    Heading,
    Look,
    Picture,
    Row,
    Rows,
    Scope,
    Section,
    Words,
)
from kegsafe.quantities import Kind, write
from kegsafe.reports.text import BOLD, REGULAR
from kegsafe.rules.cold.excursions import Excursion
from kegsafe.rules.cold.held_limits import Held
from kegsafe.rules.degrees import degrees
from kegsafe.rules.findings import Severity
from kegsafe.rules.moments import on_day

_CHART = (760, 260)
# Greys that stay apart on a copier; unread time is told by hairlines.
_ON_PAPER = ChartLook(
    font=REGULAR,
    bold=BOLD,
    card="#ffffff",
    ink="#000000",
    soft="#333333",
    grid="#d5d5d5",
    read="#000000",
    limit="#000000",
    above="#bdbdbd",
    unread="#c2c2c2",
    hatches=True,
)
_EXCURSIONS = (
    Column("No.", 8),
    Column("Place", 32),
    Column("Above from", 31),
    Column("Until", 31),
    Column("Counted as above", 20),
    Column("Warmest", 30),
    Column("Of it not read", 20),
)
_BY_HAND = (
    Column("Reading", 14),
    Column("Read", 31),
    Column("Place", 44),
    Column("Temperature", 30),
    Column("By", 24),
    Column("Note", 40),
)
_FILES = (
    Column("File", 10),
    Column("Taken in", 31),
    Column("Place", 34),
    Column("Name of the file", 44),
    Column("Added", 14),
    Column("Not read", 14),
    Column("SHA-256 of the file", 50),
    Column("By", 16),
)
_HOURS = tuple(range(24))
_DAYS = (
    Column("Day", 12.5),
    *(Column(f"{hour:02d}", 6) for hour in _HOURS),
    Column("Low", 7),
    Column("High", 7),
    Column("Read", 7.5),
)


def _blocks(scope: Scope) -> Iterator[Block]:
    yield Words(
        (
            "An excursion is worked out from the readings, never typed: from the last good reading "
            "before it to the first one after. Time between two readings counts as above when "
            "either of them is.",
        )
    )
    yield Heading("Every excursion")
    yield Rows(
        "excursions",
        _EXCURSIONS,
        _excursion_rows(scope),
        "No reading of the period was above its limit.",
        ("What was done",),
    )
    for number, standing in enumerate(scope.cold, 1):
        yield from _of_a_place(scope, standing, number)
    yield Heading("Read by hand")
    yield Rows("readings-by-hand", _BY_HAND, _by_hand(scope), "No reading by hand.")
    yield Heading("Files of loggers taken in")
    yield Rows("logger-files", _FILES, _files(scope), "No file reaches into this period.")


def _excursion_rows(scope: Scope) -> Iterator[Row]:
    number = 0
    for standing in scope.cold:
        for excursion, about in _with_actions(standing):
            number += 1
            yield Row(
                (
                    str(number),
                    standing.place.name,
                    _since(scope, excursion),
                    Bold("goes on") if excursion.is_open else _at(scope, excursion.until_s),
                    duration(timedelta(seconds=excursion.above_s)),
                    Bold(degrees(excursion.warmest_degc)),
                    duration(timedelta(seconds=excursion.unread_s)) if excursion.unread_s else "",
                ),
                (_done(scope, about),),
                tuple(each.ledger_subject for each in about),
            )


def _since(scope: Scope, excursion: Excursion) -> str:
    before = "or before, " if excursion.begins_above else ""
    return f"{before}{_at(scope, excursion.from_s)}"


def _at(scope: Scope, at_s: float) -> str:
    return scope.short(datetime.fromtimestamp(at_s, UTC))


def _done(scope: Scope, about: list[CorrectiveAction]) -> str:
    said = (f"{each.what} ({each.taken_by}, {scope.short(each.taken_at)})" for each in about)
    return " ".join(said) or "none on record"


def _excursions(standing: PlaceStanding) -> tuple[Excursion, ...]:
    return standing.record.excursions if standing.record else ()


def _with_actions(standing: PlaceStanding) -> list[tuple[Excursion, list[CorrectiveAction]]]:
    found = _excursions(standing)
    done = actions_about([(standing.place, each) for each in found])
    return list(zip(found, done, strict=True))


def _of_a_place(scope: Scope, standing: PlaceStanding, number: int) -> Iterator[Block]:
    place = standing.place
    yield Heading(place.name)
    yield from _held_against(scope, standing)
    from_s, until_s = int(scope.from_at.timestamp()), int(scope.until_at.timestamp())
    shown = thinned(place.pk, from_s, until_s)
    if not shown.pieces:
        yield Words((Bold("Nothing was read here in this period."),))
        return
    chart = drawing(
        standing,
        shown,
        scope.zone,
        scope.venue.units,
        size=_CHART,
        look=_ON_PAPER,
        title="Temperature",
    )
    yield Picture(chart, f"Temperatures of {place.name}; the rows below say the same.")
    yield Words(
        (
            "Long dashes: the limit. Grey: counted as above it. Upright hairlines: not read. Below "
            "a bar the readings are doubtful.",
        ),
        Look.FINE,
    )
    if standing.record and standing.record.unknown_s:
        gaps = sum(not gap.counts_as_above for gap in standing.record.gaps)
        unread = duration(timedelta(seconds=standing.record.unknown_s))
        times = "once" if gaps == 1 else f"{gaps} times"
        yield Words((Bold("Not read:"), f" {unread} in all, {times}. Not known is not fine."))
    yield Words(
        (
            f"The warmest reading of each hour, in {'°F' if _is_us(scope) else '°C'}, by the "
            "venue's clock. Bold in a frame: above the limit. Blank: not read.",
        ),
        Look.FINE,
        with_next=True,
    )
    yield Rows(f"hours-{number}", _DAYS, _day_rows(scope, standing), "", is_dense=True)


def _held_against(scope: Scope, standing: PlaceStanding) -> Iterator[Words]:
    """Yield what the readings are held against, each limit from its day on, and the doubts."""
    kind = standing.place.get_kind_display()
    if not standing.standard.has_limit:
        no_limit = f"{kind}. No limit is on record for it: nothing here is judged."
        yield Words((no_limit,), with_next=True)
        return
    said = [_limit(scope, held) for held in _limits_in_turn(standing.standard)]
    yield Words((f"{kind}, {'; '.join(said)}.",), with_next=True)
    for finding in standing.standard.findings:
        if finding.severity is not Severity.NOTE:
            word = severity_word(finding.severity)
            yield Words((Bold(f"{word}:"), f" {finding.statement}"), Look.FINE, with_next=True)


def _limits_in_turn(standard: Standard) -> list[Held]:
    """Return where a limit begins to hold; that only the thermometer was doubted is no new one."""
    turns = [standard.held[0]]
    turns += [
        held
        for before, held in pairwise(standard.held)
        if (held.limit, held.citation) != (before.limit, before.citation)
    ]
    return turns


def _limit(scope: Scope, held: Held) -> str:
    begins = datetime.fromtimestamp(held.from_s, scope.zone)
    since = f"from {on_day(begins)} " if begins > scope.from_at else ""
    if held.limit is None:
        return f"{since}no limit"
    return f"{since}at most {degrees(Decimal(held.limit) / 100)}: {held.citation}"


def _day_rows(scope: Scope, standing: PlaceStanding) -> Iterator[Row]:
    hours = _hours_read(scope).filter(place=standing.place).order_by("hour").iterator()
    for day, of_day in groupby(hours, lambda hour: _local(scope, hour).date()):
        read: dict[int, HourOfReadings] = {}
        for hour in of_day:
            clock = _local(scope, hour).hour
            known = read.get(clock)
            # The hour that the autumn clock change repeats shows its warmer half.
            if known is None or hour.warmest > known.warmest:
                read[clock] = hour
        yield _day_row(scope, day, read, standing.standard.held)


def _local(scope: Scope, hour: HourOfReadings) -> datetime:
    return datetime.fromtimestamp(hour.first_s, scope.zone)


def _hours_read(scope: Scope) -> QuerySet[HourOfReadings]:
    from_s, until_s = int(scope.from_at.timestamp()), int(scope.until_at.timestamp())
    return HourOfReadings.objects.filter(
        place__venue=scope.venue,
        # The key of the table; the ends are those of the readings themselves.
        hour__range=(from_s // 3600, until_s // 3600),
        last_s__gte=from_s,
        first_s__lt=until_s,
    )


def _day_row(scope: Scope, day: date, read: dict[int, HourOfReadings], held: Sequence[Held]) -> Row:
    units = scope.venue.units
    figures = (_hour(read.get(hour), units, held) for hour in _HOURS)
    coldest = min(hour.coldest for hour in read.values())
    warmest = max(hour.warmest for hour in read.values())
    return Row(
        (
            f"{day:%Y-%m-%d}",
            *figures,
            _figure(coldest, units),
            _figure(warmest, units),
            str(sum(hour.readings for hour in read.values())),
        )
    )


def _hour(hour: HourOfReadings | None, units: str, held: Sequence[Held]) -> str | Bold:
    """Return the warmest reading of an hour, bold where it was above the limit of its time."""
    if hour is None:
        return ""
    figure = _figure(hour.warmest, units)
    turn = bisect_right(held, hour.first_s, key=lambda each: each.from_s)
    return Bold(figure) if hour.warmest > held[max(turn - 1, 0)].good_up_to else figure


@cache
def _figure(centi_degc: int, units: str) -> str:
    """Return a temperature in a venue's unit without the unit, which its heading names."""
    return write(Decimal(centi_degc) / 100, Kind.TEMPERATURE, units).partition(" ")[0]


def _is_us(scope: Scope) -> bool:
    return scope.venue.units == "us"


def _by_hand(scope: Scope) -> Iterator[Row]:
    in_period = {"read_at__gte": scope.from_at, "read_at__lt": scope.until_at}
    found = readings(scope.venue).filter(**in_period).order_by("read_at", "pk")
    for reading in found.iterator(chunk_size=500):
        yield Row(
            (
                str(reading.pk),
                scope.short(reading.read_at),
                reading.place.name,
                degrees(reading.temperature_degc),
                reading.recorded_by,
                reading.note,
            ),
            subjects=(reading.ledger_subject,),
        )


def _files(scope: Scope) -> Iterator[Row]:
    found = ImportedLog.objects.filter(
        place__venue=scope.venue,
        last_s__gte=int(scope.from_at.timestamp()),
        first_s__lt=int(scope.until_at.timestamp()),
    )
    for log in found.select_related("place").order_by("imported_at", "pk"):
        yield Row(
            (
                str(log.pk),
                scope.short(log.imported_at),
                log.place.name,
                log.name,
                str(log.added),
                str(log.bad),
                log.sha256,
                log.imported_by,
            ),
            subjects=(log.ledger_subject,),
        )


def _figures(scope: Scope) -> Iterator[Figure]:
    found = [excursion for standing in scope.cold for excursion in _excursions(standing)]
    read = set(_hours_read(scope).values_list("place", flat=True).distinct())
    unread = [standing for standing in scope.cold if standing.place.pk not in read]
    yield Figure("Places whose temperature is read", str(len(scope.cold)))
    yield Figure("Of these with no reading in the period", str(len(unread)), asks=bool(unread))
    yield Figure("Excursions above a limit", str(len(found)), asks=bool(found))
    without = sum(not about for standing in scope.cold for _, about in _with_actions(standing))
    yield Figure("Of these without a corrective action", str(without), asks=without > 0)
    in_period = {"read_at__gte": scope.from_at, "read_at__lt": scope.until_at}
    by_hand = Reading.objects.filter(place__venue=scope.venue, **in_period).count()
    yield Figure("Readings by hand", str(by_hand))


SECTION = Section("temperature", "Temperature log", _blocks, _figures)
