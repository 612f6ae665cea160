"""One cycle as one row of the log, in the order an inspector reads: page and exports alike."""

from dataclasses import dataclass
from datetime import datetime

from kegsafe.cleaning.models import CleaningRecord, Cycle
from kegsafe.cleaning.queries.log import NOTED
from kegsafe.cleaning.step_words import StepRow, step_rows

COLUMNS = (
    "Began",
    "Ended",
    "What",
    "Plan",
    "Result",
    "Chemical and batch",
    "Strength",
    "Temperature",
    "Contact time",
    "Verification",
    "Who",
    "Checked by",
    "Corrective action",
)


@dataclass(frozen=True, slots=True)
class LogRow:
    """A cycle, or a clean noted without a plan, in words.

    Several chemicals stand one after the other, in the order of the steps.
    """

    pk: int
    began_at: datetime
    ended_at: datetime | None
    piece: str
    plan: str
    result: str
    result_words: str
    chemical: str
    strength: str
    temperature: str
    contact: str
    verification: str
    operator: str
    verified_by: str
    corrective: str

    @property
    def is_noted(self) -> bool:
        """Whether it is a clean that was noted without a plan."""
        return self.result == NOTED


def entry_row(entry: Cycle | CleaningRecord) -> LogRow:
    """Return an entry of `log_page` as a row."""
    return log_row(entry) if isinstance(entry, Cycle) else noted_row(entry)


def noted_row(clean: CleaningRecord) -> LogRow:
    """Return a clean that was noted without a plan as a row, in the words of who noted it."""
    sanitised = "sanitised" if clean.sanitised else "not recorded as sanitised"
    return LogRow(
        pk=clean.pk,
        began_at=clean.cleaned_at,
        ended_at=None,
        piece=str(clean.keg or clean.line),
        plan="No plan was followed: it does not count",
        result=NOTED,
        result_words="Noted",
        chemical=f"As noted: {clean.method}",
        strength="",
        temperature="",
        contact="",
        verification=f"{clean.get_verification_display()}; {sanitised}",
        operator=clean.recorded_by,
        verified_by="",
        corrective="",
    )


def log_row(cycle: Cycle) -> LogRow:
    """Return a cycle of `cycle_log` as a row."""
    rows = step_rows(cycle)
    used = [row for row in rows if row.chemical]
    proved = [f"{row.name}: {row.proof}" for row in rows if row.proof]
    return LogRow(
        pk=cycle.pk,
        began_at=cycle.started_at,
        ended_at=cycle.ended_at,
        piece=str(cycle.piece),
        plan=str(cycle.plan),
        result=cycle.result,
        result_words=cycle.get_result_display() if cycle.result else "Goes on",
        chemical=_joined(used, "chemical"),
        strength=_joined(used, "strength"),
        temperature=_joined(used, "temperature"),
        contact=_joined(used, "contact"),
        verification="; ".join(proved),
        operator=cycle.operator,
        verified_by=cycle.verified_by,
        corrective=" | ".join(
            f"{each.found} Cause: {each.cause} Done: {each.done} Drinks: {each.product_affected} "
            f"({each.recorded_by})"
            for each in cycle.corrective_actions.all()
        ),
    )


def _joined(rows: list[StepRow], name: str) -> str:
    return "; ".join(getattr(row, name) or "not recorded" for row in rows)
