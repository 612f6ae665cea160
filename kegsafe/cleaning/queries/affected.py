"""Which drinks went through a piece since it was last clean for certain."""

from django.db.models import Q, QuerySet

from kegsafe.cleaning.models import Cycle
from kegsafe.equipment.models import Use


def drinks_affected(cycle: Cycle) -> QuerySet[Use]:
    """Return the uses of a keg or a line since the last cycle of it that counted, newest first.

    A tap is asked for by its line. Other pieces remember no drinks: none is returned, which
    does not mean that none was touched.
    """
    piece = {"keg": cycle.keg_id} if cycle.keg_id else {"line": _line_of(cycle)}
    if None in piece.values():
        return Use.objects.none()
    sort = cycle.sort
    last_good = (
        Cycle.objects.filter(
            **{sort: cycle.piece}, result=Cycle.Result.COMPLETE, ended_at__lt=cycle.started_at
        )
        .order_by("-ended_at")
        .first()
    )
    uses = Use.objects.filter(**piece).order_by("-began_at")
    if last_good is None:
        return uses
    return uses.filter(Q(ended_at=None) | Q(ended_at__gt=last_good.ended_at))


def _line_of(cycle: Cycle) -> int | None:
    return cycle.tap.line_id if cycle.tap_id else cycle.line_id
