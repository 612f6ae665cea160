"""Every fill of the period: its use-by, what it declares, what was found, what became of it."""

from collections.abc import Iterator

from kegsafe.batches.filling import findings_as_filled
from kegsafe.batches.models import Fill
from kegsafe.batches.queries import fills
from kegsafe.frame.templatetags.kegsafe import outcome_word, severity_word
from kegsafe.inspection.blocks import Block, Bold, Column, Figure, Row, Rows, Scope, Section, Words
from kegsafe.rules.findings import Finding, Outcome, Severity, outcome_of
from kegsafe.rules.pour_check import PourVerdict

_AT_ONCE = 500
_COLUMNS = (
    Column("Fill", 9),
    Column("Filled", 26),
    Column("Keg", 13),
    Column("Drink and batch", 32),
    Column("Use-by found at filling", 26),
    Column("Allergens declared", 40),
    Column("Verdict at filling", 20),
    Column("Now", 28),
    Column("By", 14),
)


def _blocks(scope: Scope) -> Iterator[Block]:
    yield Words(
        (
            "Every keg filled in the period, in the order of filling. The verdict is the one the "
            "rules gave when the keg was filled, with what it asked or warned of below the row. "
            "What a keg holds now also has the verdict of the pour check at the moment this pack "
            "was made.",
        )
    )
    yield Rows("fills", _COLUMNS, _rows(scope), "No keg was filled in this period.", ("Found",))


def _rows(scope: Scope) -> Iterator[Row]:
    now = {view.row["fill_id"]: verdict for view, verdict in scope.pouring}
    for fill in _fills(scope).iterator(chunk_size=_AT_ONCE):
        findings = findings_as_filled(fill)
        yield Row(
            (
                str(fill.pk),
                scope.short(fill.filled_at),
                fill.keg.name,
                f"{fill.batch.recipe.name}, batch {fill.batch.code}",
                scope.short(fill.use_by_at) if fill.use_by_at else Bold("no date could be given"),
                fill.declaration.get("statement") or Bold("not recorded"),
                _verdict(findings),
                _now(fill, now.get(fill.pk), scope),
                fill.filled_by,
            ),
            (_found(findings),),
            (fill.ledger_subject,),
        )


def _fills(scope: Scope):
    in_period = {"filled_at__gte": scope.from_at, "filled_at__lt": scope.until_at}
    return fills(scope.venue).filter(**in_period).order_by("filled_at", "pk")


def _verdict(findings: list[Finding]) -> str | Bold:
    outcome = outcome_of(findings)
    word = outcome_word(outcome)
    return word if outcome is Outcome.POUR else Bold(word)


def _found(findings: list[Finding]) -> str:
    """Return what a person had to look at, the gravest first as stored."""
    return " ".join(
        f"{severity_word(each.severity)}: {each.statement}"
        for each in findings
        if each.severity is not Severity.NOTE
    )


def _now(fill: Fill, verdict: PourVerdict | None, scope: Scope) -> str | Bold:
    if verdict is not None:
        tap = f"tap {fill.tap_name}, " if fill.tap_name else ""
        word = outcome_word(verdict.outcome).lower()
        hold = f" On hold: {fill.state_reason}." if fill.state == Fill.State.ON_HOLD else ""
        text = f"In the keg, {tap}pour check: {word}.{hold}"
        return text if verdict.outcome is Outcome.POUR else Bold(text)
    ended = f" {scope.short(fill.state_at)}" if fill.state_at else ""
    reason = f": {fill.state_reason}" if fill.state_reason else ""
    return f"{fill.get_state_display()}{ended}{reason}"


def _figures(scope: Scope) -> Iterator[Figure]:
    filled = _fills(scope)
    yield Figure("Kegs filled", str(filled.count()))
    undated = filled.filter(use_by_at=None).count()
    yield Figure("Filled without a date that could be given", str(undated), asks=undated > 0)
    discarded = filled.filter(state=Fill.State.DISCARDED).count()
    yield Figure("Of these discarded", str(discarded))
    stopped = sum(verdict.outcome is Outcome.STOP for _, verdict in scope.pouring)
    asking = sum(verdict.outcome is Outcome.ASK for _, verdict in scope.pouring)
    yield Figure("Kegs that hold a drink now", str(len(scope.pouring)))
    yield Figure("Of these: do not pour", str(stopped), asks=stopped > 0)
    yield Figure("Of these: ask the manager", str(asking), asks=asking > 0)


SECTION = Section("fills", "Fills and use-by dates", _blocks, _figures, across=True)
