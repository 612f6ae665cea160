"""What was fetched back: recalls and drills, piece by piece."""

from kegsafe.exports.logs.log import Column, Log, moment, recorded, words
from kegsafe.recalls.models import RecallItem

_ITEMS = (
    Column("recall", "Recall or drill no.", "recall__number"),
    Column("is_drill", "Drill", "recall__is_drill"),
    Column("reason", "Reason", "recall__reason"),
    Column("notice", "Supplier's notice", "recall__notice"),
    moment("began_at", "Began", "recall__began_at"),
    moment("closed_at", "Closed", "recall__closed_at"),
    Column("lot", "Lot", "lot__code"),
    Column("keg", "Keg", "fill__keg__name"),
    Column("batch", "Batch", "fill__batch__code"),
    words("reach", "Where it was", RecallItem.ReachOf.choices),
    Column("amount", "Amount (in its unit)"),
    Column("unit", "Unit", "measure"),
    Column("was_held", "Put on hold by the recall"),
    words("outcome", "Looked for", RecallItem.OutcomeOf.choices),
    Column("amount_found", "Amount found (in its unit)"),
    words("disposition", "What became of it", RecallItem.Disposition.choices),
    Column("note", "Note"),
    moment("settled_at", "Settled"),
    Column("settled_by", "Settled by"),
)

LOGS = (
    Log(
        "recall-items",
        "Recalls and drills",
        "Each piece that was looked for, and what it came to.",
        _ITEMS,
        recorded(
            lambda venue: RecallItem.objects.filter(recall__venue=venue),
            _ITEMS,
            at="recall__began_at",
        ),
    ),
)
