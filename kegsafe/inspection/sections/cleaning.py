"""Every cleaning cycle of the period, and what was done about each that does not count."""

from collections.abc import Iterator

from django.db.models import Count, QuerySet

from kegsafe.cleaning.log_words import COLUMNS, LogRow, log_row
from kegsafe.cleaning.models import CleaningPlan, CleaningRecord, Cycle
from kegsafe.cleaning.models.equipment import SORTS
from kegsafe.cleaning.queries import cleaning_log, due_of
from kegsafe.cleaning.queries.log import cycle_log
from kegsafe.inspection.blocks import (
    Block,
    Bold,
    Column,
    Figure,
    Heading,
    Row,
    Rows,
    Scope,
    Section,
    Words,
)
from kegsafe.rules.cleaning.due import DueStatus
from kegsafe.rules.findings import Severity

_AT_ONCE = 500
_GRAVE = {Severity.STOP.value, Severity.ASK.value}
# The columns of the log as on its page, but for the corrective action, which stands below.
_WIDTHS = (31, 31, 18, 26, 22, 31, 24, 22, 15, 40, 14, 14)
_RECORDS = (
    Column("Record", 10),
    Column("Cleaned", 26),
    Column("What", 22),
    Column("How", 90),
    Column("Sanitised", 14),
    Column("Allergen clean", 16),
    Column("Verification", 44),
    Column("By", 20),
)


def _blocks(scope: Scope) -> Iterator[Block]:
    yield Words(
        (
            "Every cycle that began in the period, judged by the version of the plan it names and "
            "by the code of its day. A result that does not count stands in bold, with the reason "
            "and the corrective action below it.",
        )
    )
    columns = (Column("Cycle", 11), *map(Column, COLUMNS[:-1], _WIDTHS))
    below = ("Why it does not count", COLUMNS[-1])
    yield Rows("cleaning-cycles", columns, _cycle_rows(scope), "No cycle on record.", below)
    yield Heading("Cleans noted without a plan")
    yield Words(("They stand in the log and do not count.",), with_next=True)
    yield Rows("cleaning-records", _RECORDS, _record_rows(scope), "None in this period.")


def _cycles(scope: Scope) -> QuerySet[Cycle]:
    log = cycle_log(scope.venue, since=scope.from_at, until=scope.until_at)
    # A plan is a document of a few thousand letters: each is read once and not for every cycle.
    return log.select_related(None).select_related(*SORTS).order_by("started_at", "pk")


def _cycle_rows(scope: Scope) -> Iterator[Row]:
    plans = CleaningPlan.objects.filter(venue=scope.venue).in_bulk()
    for cycle in _cycles(scope).iterator(chunk_size=_AT_ONCE):
        cycle.plan = plans[cycle.plan_id]
        row = log_row(cycle)
        counts = cycle.result == Cycle.Result.COMPLETE
        actions = tuple(each.ledger_subject for each in cycle.corrective_actions.all())
        yield Row(
            (
                str(cycle.pk),
                scope.short(row.began_at),
                scope.short(row.ended_at) if row.ended_at else Bold("goes on"),
                row.piece,
                row.plan,
                row.result_words if counts else Bold(row.result_words),
                *_asides(row),
                row.operator,
                row.verified_by,
            ),
            (_why(cycle), _corrective(cycle, row)),
            (cycle.ledger_subject, *actions),
        )


def _asides(row: LogRow) -> tuple[str, ...]:
    return (row.chemical, row.strength, row.temperature, row.contact, row.verification)


def _why(cycle: Cycle) -> str:
    """Return what broke a limit or is missing, as it was judged."""
    said = [
        each["statement"]
        for each in cycle.verdict.get("findings", [])
        if each["severity"] in _GRAVE
    ]
    if cycle.given_up_because:
        said.insert(0, f"Given up: {cycle.given_up_because}")
    return " ".join(said)


def _corrective(cycle: Cycle, row: LogRow) -> str:
    if row.corrective or cycle.result in ("", Cycle.Result.COMPLETE):
        return row.corrective
    return "none on record"


def _record_rows(scope: Scope) -> Iterator[Row]:
    for record in _records(scope).iterator(chunk_size=_AT_ONCE):
        is_verified = record.verification != CleaningRecord.Verification.NONE
        verification = record.get_verification_display()
        yield Row(
            (
                str(record.pk),
                scope.short(record.cleaned_at),
                str(record.keg or record.line),
                record.method,
                "yes" if record.sanitised else "no",
                "yes" if record.is_allergen_clean else "no",
                verification if is_verified else Bold(verification),
                record.recorded_by,
            ),
            subjects=(record.ledger_subject,),
        )


def _records(scope: Scope) -> QuerySet[CleaningRecord]:
    """Return the records that no cycle made: those say nothing that their cycle does not."""
    in_period = {"cleaned_at__gte": scope.from_at, "cleaned_at__lt": scope.until_at}
    return cleaning_log(scope.venue).filter(cycle=None, **in_period).order_by("cleaned_at", "pk")


def _figures(scope: Scope) -> Iterator[Figure]:
    in_period = {"started_at__gte": scope.from_at, "started_at__lt": scope.until_at}
    cycles = Cycle.objects.filter(venue=scope.venue, **in_period)
    counts = dict(cycles.order_by().values_list("result").annotate(Count("pk")))
    yield Figure("Cleaning cycles", str(sum(counts.values())))
    for result in Cycle.Result:
        if result is not Cycle.Result.COMPLETE:
            number = counts.get(result.value, 0)
            yield Figure(f"Of these {result.label.lower()}", str(number), asks=number > 0)
    without = (
        cycles.exclude(result__in=("", Cycle.Result.COMPLETE))
        .filter(corrective_actions=None)
        .count()
    )
    yield Figure("Of those without a corrective action", str(without), asks=without > 0)
    yield Figure("Cleans noted without a plan", str(_records(scope).count()))
    pieces = due_of(scope.venue, scope.made_at)
    overdue = sum(each.due.status is DueStatus.OVERDUE for each in pieces)
    yield Figure("Cleans overdue now", str(overdue), asks=overdue > 0)


SECTION = Section("cleaning", "Cleaning log", _blocks, _figures, across=True)
