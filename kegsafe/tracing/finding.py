"""Where a trace begins: what somebody holds in their hand, found by any code on it."""

from dataclasses import dataclass

from django.db.models import Q, QuerySet

from kegsafe.batches.models import Fill
from kegsafe.stock.models import Lot
from kegsafe.venues.models import Venue

MOST_FOUND = 25
NEWEST_SHOWN = 8  # of each, while nothing was looked for

_WORDS = {"keg", "lot", "batch"}


@dataclass(frozen=True, slots=True)
class Found:
    """The lots and fills that fit, newest first, at most MOST_FOUND of each."""

    lots: list[Lot]
    fills: list[Fill]

    @property
    def was_cut(self) -> bool:
        """Whether there may be more than is shown."""
        return MOST_FOUND in {len(self.lots), len(self.fills)}


def find(venue: Venue, words: str = "") -> Found:
    """Return what fits a lot, supplier, keg, batch or label code; the newest without words.

    Two queries.
    """
    words = _bare(words)
    most = MOST_FOUND if words else NEWEST_SHOWN
    return Found(list(_lots(venue, words)[:most]), list(_fills(venue, words)[:most]))


def _bare(words: str) -> str:
    """Return what was typed without the word for what it is: "keg K5" is K5."""
    # PostgreSQL refuses a text with this character; no code has it.
    typed = words.replace("\0", "").strip()
    first, _, rest = typed.partition(" ")
    return rest.strip() if rest and first.lower() in _WORDS else typed


def _lots(venue: Venue, words: str) -> QuerySet[Lot]:
    found = Lot.objects.filter(venue=venue).select_related("ingredient", "delivery__supplier")
    if words:
        found = found.filter(
            Q(code__icontains=words)
            | Q(supplier_lot_code__icontains=words)
            | Q(ingredient__name__icontains=words)
            | Q(delivery__supplier__name__icontains=words)
        )
    return found.order_by("-came_into_being_at", "-pk")


def _fills(venue: Venue, words: str) -> QuerySet[Fill]:
    found = Fill.objects.filter(batch__venue=venue).select_related("batch__recipe", "keg")
    if words:
        found = found.filter(
            Q(batch__code__icontains=words)
            | Q(batch__recipe__name__icontains=words)
            | Q(keg__name__iexact=words)
            | Q(keg__label_code__iexact=words)
        )
    return found.order_by("-filled_at", "-pk")
