"""What was cleaned: cycles step by step, plain records, and what was done when one failed."""

from collections.abc import Iterator

from kegsafe.cleaning.log_words import LogRow, log_row
from kegsafe.cleaning.models import CleaningRecord, CorrectiveAction, Cycle
from kegsafe.cleaning.queries.log import cycle_log
from kegsafe.exports.logs.log import Column, Log, Period, Row, moment, recorded, words
from kegsafe.venues.models import Venue

_CYCLES_AT_ONCE = 200  # each comes with its steps

_CYCLES = (
    moment("began_at", "Began"),
    moment("ended_at", "Ended"),
    Column("piece", "What"),
    Column("plan", "Plan"),
    Column("result_words", "Result"),
    Column("chemical", "Chemical and batch"),
    Column("strength", "Strength"),
    Column("temperature", "Temperature"),
    Column("contact", "Contact time"),
    Column("verification", "Verification"),
    Column("operator", "Who"),
    Column("verified_by", "Checked by"),
    Column("corrective", "Corrective action"),
)
_RECORDS = (
    moment("cleaned_at", "Cleaned"),
    Column("keg", "Keg", "keg__name"),
    Column("line", "Line", "line__name"),
    Column("method", "How"),
    Column("sanitised", "Sanitised"),
    Column("is_allergen_clean", "Allergen clean"),
    words("verification", "Verification", CleaningRecord.Verification.choices),
    Column("recorded_by", "Recorded by"),
)
_ACTIONS = (
    moment("acted_at", "When"),
    moment("cycle_began_at", "Cycle began", "cycle__started_at"),
    Column("plan", "Plan", "cycle__plan__name"),
    Column("found", "What was found"),
    Column("cause", "Why it happened"),
    Column("done", "What was done"),
    Column("product_affected", "Drinks affected, and what became of them"),
    Column("recorded_by", "Recorded by"),
    Column("verified_by", "Checked by"),
    moment("verified_at", "Checked"),
)


def _cycles(venue: Venue, period: Period) -> Iterator[Row]:
    """Cycles in the words of the log's page."""
    last = 0
    while True:
        log = cycle_log(venue, since=period.since, until=period.until)
        found: list[Cycle] = list(log.filter(pk__gt=last).order_by("pk")[:_CYCLES_AT_ONCE])
        for cycle in found:
            row: LogRow = log_row(cycle)
            yield [getattr(row, column.key) for column in _CYCLES]
        if len(found) < _CYCLES_AT_ONCE:
            return
        last = found[-1].pk


LOGS = (
    Log(
        "cleaning-cycles",
        "Cleaning cycles",
        "Cycles recorded step by step, with chemicals, readings and verdict.",
        _CYCLES,
        _cycles,
    ),
    Log(
        "cleans",
        "Plain cleaning records",
        "Cleans of kegs and lines that were recorded whole.",
        _RECORDS,
        recorded(
            lambda venue: CleaningRecord.objects.filter(venue=venue), _RECORDS, at="cleaned_at"
        ),
    ),
    Log(
        "cleaning-actions",
        "Corrective actions, cleaning",
        "What was done about cycles that did not count.",
        _ACTIONS,
        recorded(
            lambda venue: CorrectiveAction.objects.filter(cycle__venue=venue),
            _ACTIONS,
            at="acted_at",
        ),
    ),
)
