"""When something happened: never after now, and never before the lot was there."""

from datetime import datetime

from django.core.exceptions import ValidationError
from django.utils import timezone

from kegsafe.stock.models import Lot


def refuse_later_than_now(moment: datetime, field: str) -> None:
    """Raise ValidationError at `field` for a moment that has not come yet."""
    if moment > timezone.now():
        local = timezone.localtime(moment)
        raise ValidationError(
            {field: f"{local:%Y-%m-%d %H:%M} has not come yet. Enter a time up to now."}
        )


def refuse_before_the_lot(moment: datetime, lot: Lot, field: str) -> None:
    """Raise ValidationError at `field` for a moment before the lot came into being."""
    if moment < lot.came_into_being_at:
        began = timezone.localtime(lot.came_into_being_at)
        raise ValidationError(
            {field: f"Lot {lot.code} came in {began:%Y-%m-%d %H:%M}. Enter a time after that."}
        )
