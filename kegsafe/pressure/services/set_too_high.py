"""A corrected figure that is below the pressure set now: recorded, and its consequence with it.

The plate says what it says, and a record that stays wrong because the gas is still on would keep
people pouring by it. So the correction is never refused for good: whoever makes it says what is
so with the pressure, shut off or not yet, and that stands in the ledger beside the regulator.
"""

from django.core.exceptions import ValidationError
from django.db import models

from kegsafe.ledger.services import Recorder, record
from kegsafe.pressure.models import Item
from kegsafe.pressure.queries import gas_system, item_key
from kegsafe.rules.findings import Finding
from kegsafe.rules.pressure.gas_system import borne_now

FIELD = "gas_now"


class GasNow(models.TextChoices):
    """What somebody says of a pressure that is set above what a part bears."""

    SHUT = "shut", "I have lowered it or shut it off"
    STANDS = "stands", "It still stands: I am going there now"


# By regulator, what stands against the pressure it is set to.
SetTooHigh = dict[int, tuple[Finding, ...]]


def set_too_high_over(item: Item) -> SetTooHigh:
    """Return what stands against each set pressure on an item, by its regulator: four queries."""
    system, key = gas_system(item.venue), item_key(item.pk)
    if key not in system.parts:
        return {}
    found = {}
    for part in system.set_over(key):
        against, _ = borne_now(system, part.key)
        if against:
            found[part.key] = against
    return {
        regulator.pk: found[item_key(regulator.pk)]
        for regulator in Item.objects.filter(venue=item.venue, kind=Item.Kind.REGULATOR)
        if item_key(regulator.pk) in found
    }


def record_consequence(item: Item, before: SetTooHigh, *, gas_now: str, by: Recorder) -> None:
    """Record at each regulator what an amendment of an item put against its set pressure.

    before : what stood against it already. Raises ValidationError at `gas_now`, naming the
        parts and figures, where something new does and nobody said what is so with the pressure.
    """
    new = {
        regulator: [each.statement for each in against if each not in before.get(regulator, ())]
        for regulator, against in set_too_high_over(item).items()
    }
    new = {regulator: said for regulator, said in new.items() if said}
    if not new:
        return
    if gas_now not in GasNow.values:
        raise ValidationError({FIELD: _what_to_do(new)})
    answer = GasNow(gas_now).label
    for regulator in Item.objects.filter(pk__in=new).order_by("pk"):
        reason = (
            f"{item} was amended. {' '.join(new[regulator.pk])} Said of the pressure: {answer}."
        )
        record(regulator, by=by, action="found set too high", detail={"reason": reason})


def _what_to_do(new: dict[int, list[str]]) -> list[str]:
    said = dict.fromkeys(each for statements in new.values() for each in statements)
    return [
        *said,
        "Shut the cylinder and relieve the pressure first if you are there. Then say below what is "
        "so: the figure is recorded either way, and the kegs behind it are not to be poured until "
        "a lower set pressure is recorded or they are taken off the gas.",
    ]
