"""The four sorts of equipment that are cleaned, and the rule that a record is of exactly one."""

from django.db import models
from django.db.models import Q

from kegsafe.rules.cleaning.vocabulary import Equipment

SORTS = ("keg", "line", "tap", "item")


def is_of_one() -> Q:
    """Return the condition that exactly one of the four is named."""
    condition = Q()
    for chosen in SORTS:
        condition |= Q(**{f"{sort}__isnull": sort != chosen for sort in SORTS})
    return condition


class OfOnePiece(models.Model):
    """Base of what is recorded about one keg, one line, one tap or one other piece."""

    keg = models.ForeignKey(
        "equipment.Keg", models.PROTECT, null=True, blank=True, related_name="%(class)s_set"
    )
    line = models.ForeignKey(
        "equipment.Line", models.PROTECT, null=True, blank=True, related_name="%(class)s_set"
    )
    tap = models.ForeignKey(
        "equipment.Tap", models.PROTECT, null=True, blank=True, related_name="%(class)s_set"
    )
    item = models.ForeignKey(
        "cleaning.CleanItem", models.PROTECT, null=True, blank=True, related_name="%(class)s_set"
    )

    class Meta:
        abstract = True

    @property
    def sort(self) -> str:
        """Return which of the four it is of."""
        return next(sort for sort in SORTS if getattr(self, f"{sort}_id") is not None)

    @property
    def piece(self) -> models.Model:
        """Return the keg, line, tap or other piece itself."""
        return getattr(self, self.sort)

    @property
    def piece_key(self) -> str:
        """Return how forms and addresses name the piece: 'line-12'."""
        return f"{self.sort}-{getattr(self, f'{self.sort}_id')}"


def sort_of(piece: models.Model) -> str:
    """Return which of the four a piece is."""
    name = piece._meta.model_name
    return "item" if name == "cleanitem" else str(name)


def equipment_of(piece: models.Model) -> Equipment:
    """Return what the plans call a piece."""
    sort = sort_of(piece)
    return Equipment(piece.kind if sort == "item" else sort)
