"""The register of pressure equipment and gas, what is due on it, and every check of the period."""

from collections.abc import Iterator

from django.db.models import QuerySet

from kegsafe.equipment.models import Keg
from kegsafe.frame.cautions import CO2_AND_PRESSURE
from kegsafe.frame.templatetags.kegsafe import severity_word, verified_word
from kegsafe.inspection.blocks import (
    Block,
    Bold,
    Column,
    Figure,
    Heading,
    Look,
    Row,
    Rows,
    Scope,
    Section,
    Words,
    subject_of,
)
from kegsafe.pressure.deciders import DECIDERS
from kegsafe.pressure.models import Check, Item
from kegsafe.pressure.queries import RegisterRow
from kegsafe.pressure.templatetags.pressure import due_word

_REGISTER = (
    Column("What", 40),
    Column("Serial number", 28),
    Column("Room", 26),
    Column("State", 28),
    Column("Most urgent", 46),
    Column("How it stands", 28),
)
_DUE = (
    Column("Which check", 34),
    Column("On what", 46),
    Column("Why", 54),
    Column("Source", 34),
    Column("Who decides", 30),
)
_CHECKS = (
    Column("Check", 11),
    Column("Checked", 31),
    Column("What", 30),
    Column("Which check", 36),
    Column("Outcome", 17),
    Column("Comment", 31),
    Column("By", 18),
    Column("Competent person, report", 30),
)
_ROOMS = (Column("Room", 30), Column("Weight", 22), Column("Finding", 100), Column("Source", 44))


def _blocks(scope: Scope) -> Iterator[Block]:
    regime = scope.audit.regime
    rules = (
        f"Rules of {regime.name}. {regime.deference}"
        if regime
        else ("No country's rules are chosen: the strictest of all apply.")
    )
    yield Words((f"{rules} The register is as it stood when this pack was made.",))
    yield Words((Bold("Caution."), f" {CO2_AND_PRESSURE}"))
    yield Heading("Register")
    yield Rows("pressure-register", _REGISTER, _register(scope), "Nothing is in it.")
    yield Heading("Due, or not known and so treated as due")
    yield Rows("pressure-due", _DUE, _due_rows(scope), "Nothing is due on record.")
    yield Heading("Checks in the period")
    yield Rows("pressure-checks", _CHECKS, _check_rows(scope), "No check is on record.")
    yield Heading("Rooms with gas")
    yield Rows("gas-rooms", _ROOMS, _rooms(scope), "No room with gas is on record.")
    yield Words(("Computed for screening; a competent person measures and decides.",), Look.FINE)
    for sentence in DECIDERS:
        yield Words((sentence,), Look.FINE)


def _register(scope: Scope) -> Iterator[Row]:
    for row in scope.audit.rows:
        word = due_word(row.next.state)
        reason = f": {row.service_reason}" if row.service_reason else ""
        yield Row(
            (
                f"{row.kind_label} {row.name}",
                row.serial or "not recorded",
                row.room or "not recorded",
                f"{row.service_word}{reason}",
                row.next.label,
                Bold(word) if row.next.asks_for_work else word,
            ),
            subjects=(_subject(row),),
        )


def _subject(row: RegisterRow) -> str:
    return subject_of(Keg if row.is_keg else Item, row.pk)


def _due_rows(scope: Scope) -> Iterator[Row]:
    """Twenty like kegs with the same check due for the same reason are one row."""
    for asking in scope.audit.asking:
        due = asking.due
        source = f"{due.source}, {verified_word(due.verified)}"
        yield Row((due.label, asking.names, due.because, source, due.decided_by))


def _check_rows(scope: Scope) -> Iterator[Row]:
    for check in _checks(scope).order_by("checked_at", "pk").iterator(chunk_size=500):
        failed = check.outcome == Check.Outcome.FAIL
        outcome = check.get_outcome_display()
        yield Row(
            (
                str(check.pk),
                scope.short(check.checked_at),
                str(check.item or check.keg),
                check.label,
                Bold(outcome) if failed else outcome,
                check.comment,
                check.recorded_by,
                ", ".join(filter(None, (check.competent_person, check.report))),
            ),
            subjects=(check.ledger_subject,),
        )


def _checks(scope: Scope) -> QuerySet[Check]:
    in_period = {"checked_at__gte": scope.from_at, "checked_at__lt": scope.until_at}
    return Check.objects.filter(venue=scope.venue, **in_period).select_related("item", "keg")


def _rooms(scope: Scope) -> Iterator[Row]:
    for room, verdict in scope.audit.rooms:
        for finding in verdict.findings:
            source = f"{finding.source}, {verified_word(finding.verified)}"
            weight = severity_word(finding.severity)
            yield Row(
                (room.name, weight, finding.statement, source), subjects=(room.ledger_subject,)
            )


def _figures(scope: Scope) -> Iterator[Figure]:
    audit = scope.audit
    yield Figure("Pieces of pressure equipment", str(len(audit.rows)))
    yield Figure("Checks due, or not known", str(audit.count_asking), asks=audit.count_asking > 0)
    yield Figure("Defects open", str(len(audit.defects)), asks=bool(audit.defects))
    yield Figure("Without a certificate or report", str(len(audit.missing)))
    yield Figure("Checks in the period", str(_checks(scope).count()))
    failed = _checks(scope).filter(outcome=Check.Outcome.FAIL).count()
    yield Figure("Of these failed", str(failed), asks=failed > 0)


SECTION = Section("pressure", "Pressure equipment and gas", _blocks, _figures)
