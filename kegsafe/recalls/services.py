"""Beginning a recall or a drill, settling what it is about, and closing it."""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from kegsafe.batches import services as batches
from kegsafe.batches.models import Fill
from kegsafe.ledger.services import Recorder, amend, create, record, take_turn
from kegsafe.recalls.models import Recall, RecallItem, RecallTask
from kegsafe.recalls.queries import Affected, affected_by, items_of, progress_of
from kegsafe.rules.recall import RECOVERABLE, Outcome, standard_tasks
from kegsafe.stock import services as stock
from kegsafe.stock.models import Lot
from kegsafe.venues.models import Venue

_NAMED_AT_MOST = 3


@transaction.atomic
def begin_recall(
    *,
    venue: Venue,
    lots: Sequence[Lot],
    reason: str,
    notice: str = "",
    is_drill: bool = False,
    by: Recorder,
) -> Recall:
    """Hold everything the lots went into, and list it to be looked for.

    All of it in one transaction: no moment shows half a recall. A drill lists the same and holds
    nothing. Raises ValidationError without a lot, or for a lot of another venue.
    """
    take_turn(by)
    if not lots:
        raise ValidationError({"lots": "Choose at least one lot that the recall starts from."})
    if any(lot.venue_id != venue.pk for lot in lots):
        raise ValidationError({"lots": "Choose lots of this venue."})
    highest = Recall.objects.filter(venue=venue).aggregate(highest=Max("number"))["highest"] or 0
    recall = Recall(
        venue=venue,
        number=highest + 1,
        is_drill=is_drill,
        reason=reason.strip(),
        notice=notice.strip(),
        lots=sorted(lot.pk for lot in lots),
        began_at=timezone.now(),
        began_by=by.person,
    )
    create(recall, by=by, action="drill begun" if is_drill else "recall begun")
    _take_up(recall, affected_by(venue, recall.lots), by)
    for task in standard_tasks():
        if task.in_drill or not is_drill:
            source = ", ".join(filter(None, (task.source, task.section)))
            create(
                RecallTask(recall=recall, what=task.what, source=source),
                by=by,
                action="task set",
            )
    return recall


@transaction.atomic
def look_again(*, recall: Recall, by: Recorder) -> int:
    """Take up what the lots have gone into since, such as a draw recorded late: how many pieces."""
    take_turn(by)
    _refuse_closed(recall)
    known = set(recall.items.values_list("lot_id", "fill_id"))
    new = [
        each for each in affected_by(recall.venue, recall.lots) if _keys(each.record) not in known
    ]
    _take_up(recall, new, by)
    return len(new)


@transaction.atomic
def settle_item(
    *,
    item: RecallItem,
    found: bool,
    amount_found: Decimal | None = None,
    disposition: str = "",
    note: str = "",
    by: Recorder,
) -> RecallItem:
    """Say what looking for a piece came to; said again, the first word stays in the ledger.

    In a recall, what is discarded or returned leaves stock or keg with it. In a drill nothing
    does. Raises ValidationError for a closed recall, a piece that was gone before, an amount
    above what was there, and a missing word where nothing was found.
    """
    take_turn(by)
    held = (
        RecallItem.objects.select_for_update(of=("self",))
        .select_related("recall", "lot", "fill__keg", "fill__batch")
        .get(pk=item.pk)
    )
    _refuse_closed(held.recall)
    if not held.is_recoverable:
        raise ValidationError("It was gone before the recall began: there is nothing to look for.")
    disposition = "" if held.recall.is_drill or not found else disposition
    _check_settling(held, found, amount_found, disposition, note)
    if disposition in (RecallItem.Disposition.DISCARDED, RecallItem.Disposition.RETURNED):
        _take_out(held, disposition, by)
    changes = {
        "outcome": Outcome.FOUND.value if found else Outcome.NOT_FOUND.value,
        "amount_found": amount_found if found else Decimal(0),
        "disposition": disposition,
        "note": note.strip(),
        "settled_at": timezone.now(),
        "settled_by": by.person,
    }
    amend(held, changes, by=by, reason=note.strip() or "Looked for", action="looked for")
    return held


@transaction.atomic
def add_task(
    *, recall: Recall, what: str, person: str = "", due_at: datetime | None = None, by: Recorder
) -> RecallTask:
    """Set one more task."""
    take_turn(by)
    _refuse_closed(recall)
    task = RecallTask(recall=recall, what=what.strip(), person=person.strip(), due_at=due_at)
    create(task, by=by, action="task set")
    return task


@transaction.atomic
def finish_task(*, task: RecallTask, note: str = "", by: Recorder) -> RecallTask:
    """Record a task as done; one that is done already stays as it is."""
    take_turn(by)
    held = (
        RecallTask.objects.select_for_update(of=("self",)).select_related("recall").get(pk=task.pk)
    )
    _refuse_closed(held.recall)
    if held.done_at is None:
        held.done_at, held.done_by, held.note = timezone.now(), by.person, note.strip()
        held.full_clean()
        held.save()
        record(held, by=by, action="task done")
    return held


@transaction.atomic
def close_recall(*, recall: Recall, note: str, release: bool = False, by: Recorder) -> Recall:
    """Close it with a word on how it ended; `release` lets go of what the recall put on hold.

    Raises ValidationError while a piece still waits to be looked for.
    """
    take_turn(by)
    held = Recall.objects.select_for_update(of=("self",)).select_related("venue").get(pk=recall.pk)
    _refuse_closed(held)
    items = items_of(held)
    waiting = progress_of(held, items).waiting
    if waiting:
        more = len(waiting) - _NAMED_AT_MOST
        named = "; ".join(waiting[:_NAMED_AT_MOST]) + (f" and {more} more" if more > 0 else "")
        raise ValidationError(f"Still to be looked for: {named}. Say found or not found of each.")
    if release:
        for item in items:
            _release(item, note, by)
    held.closed_at, held.closed_by, held.closing_note = timezone.now(), by.person, note.strip()
    held.full_clean()
    held.save()
    record(held, by=by, action="drill closed" if held.is_drill else "recall closed")
    return held


def _take_up(recall: Recall, pieces: Sequence[Affected], by: Recorder) -> None:
    for piece in pieces:
        holds = not recall.is_drill and piece.reach in RECOVERABLE and not piece.is_on_hold
        if holds:
            _hold(piece.record, f"{recall}: {recall.reason}", by)
        lot_id, fill_id = _keys(piece.record)
        item = RecallItem(
            recall=recall,
            lot_id=lot_id,
            fill_id=fill_id,
            reach=piece.reach.value,
            measure=piece.measure,
            amount=piece.amount,
            was_held=holds,
            outcome=(Outcome.WAITING if piece.reach in RECOVERABLE else Outcome.GONE).value,
        )
        create(item, by=by, action="affected by a drill" if recall.is_drill else "affected")


def _keys(record: Lot | Fill) -> tuple[int | None, int | None]:
    return (record.pk, None) if isinstance(record, Lot) else (None, record.pk)


def _hold(record: Lot | Fill, reason: str, by: Recorder) -> None:
    if isinstance(record, Lot):
        stock.hold_lot(lot=record, reason=reason, by=by)
    else:
        batches.hold_fill(fill=record, reason=reason, by=by)


def _check_settling(
    item: RecallItem, found: bool, amount: Decimal | None, disposition: str, note: str
) -> None:
    if not found:
        if not note.strip():
            raise ValidationError({"note": "Say where you looked, and who may know more."})
        return
    if amount is None or amount < 0:
        raise ValidationError({"amount_found": "Say how much is there; nothing at all is 0."})
    if amount > item.amount:
        raise ValidationError(
            {"amount_found": "That is more than the records say was there. Look at the unit."}
        )
    if not item.recall.is_drill and not disposition:
        raise ValidationError({"disposition": "Say what became of it."})


def _take_out(item: RecallItem, disposition: str, by: Recorder) -> None:
    """Discard it in stock or keg too, unless somebody did so in the meantime."""
    reason = f"{item.recall}: {RecallItem.Disposition(disposition).label.lower()}"
    if item.lot is not None and item.lot.status in (Lot.Status.ACCEPTED, Lot.Status.ON_HOLD):
        stock.discard_lot(lot=item.lot, reason=reason, by=by)
    elif item.fill is not None and item.fill.is_open:
        batches.discard_fill(fill=item.fill, reason=reason, by=by)


def _release(item: RecallItem, note: str, by: Recorder) -> None:
    """Let go of what this recall put on hold and what is on hold still."""
    reason = f"{item.recall} closed: {note.strip()}"[:200]
    if not item.was_held:
        return
    if item.lot is not None and item.lot.status == Lot.Status.ON_HOLD:
        stock.release_lot(lot=item.lot, reason=reason, by=by)
    elif item.fill is not None and item.fill.state == Fill.State.ON_HOLD:
        batches.release_fill(fill=item.fill, reason=reason, by=by)


def _refuse_closed(recall: Recall) -> None:
    if recall.closed_at is not None:
        raise ValidationError(f"{recall} is closed. Begin another one.")
