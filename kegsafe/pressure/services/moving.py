"""What may not be carried elsewhere while gas hangs on it, with the reason and what to do."""

from collections.abc import Mapping
from typing import Any

from django.core.exceptions import ValidationError
from django.db.models import Q

from kegsafe.equipment.models import Keg
from kegsafe.pressure.models import Connection, Item


def refuse_to_move(item: Item, changes: Mapping[str, Any]) -> None:
    """Raise ValidationError, at the field, where a change would move what carries pressure.

    Another room for an item that is connected, or that others hang on; another keg for a
    relief valve while either keg is on gas. A room that was not on record may be added: that
    moves nothing.
    """
    current = Item.objects.select_related("room", "keg").get(pk=item.pk)
    trouble = {}
    if "room" in changes and current.room is not None and changes["room"] != current.room:
        _note(trouble, "room", _why_not_out_of_its_room(current))
    if "keg" in changes and changes["keg"] != current.keg:
        _note(trouble, "keg", _why_not_to_another_keg(current, changes["keg"]))
    if trouble:
        raise ValidationError(trouble)


def _note(trouble: dict[str, str], field: str, sentence: str) -> None:
    if sentence:
        trouble[field] = sentence


def _why_not_out_of_its_room(item: Item) -> str:
    connections = Connection.objects.filter(Q(source=item) | Q(item=item), ended_at=None)
    found = list(connections.select_related("source", "item", "keg"))
    fed_by = [str(each.source) for each in found if each.item_id == item.pk]
    feeds = [str(each.item or each.keg) for each in found if each.source_id == item.pk]
    if not found:
        return ""
    hangs = [f"it hangs on {' and '.join(fed_by)}"] if fed_by else []
    hangs += [f"{', '.join(sorted(feeds))} hang{'s' if len(feeds) == 1 else ''} on it"] * bool(
        feeds
    )
    return (
        f"{item} stays in {item.room} while gas is on it: {', and '.join(hangs)}. Shut the "
        "cylinder, relieve the pressure, record each as disconnected under Gas system, then move "
        "it."
    )


def _why_not_to_another_keg(item: Item, keg: Keg | None) -> str:
    ends = {each.pk: each for each in (item.keg, keg) if each is not None}
    on_gas = Connection.objects.filter(keg__in=ends, ended_at=None).select_related("source", "keg")
    found = on_gas.order_by("keg__name").first()
    if found is None:
        return ""
    return (
        f"{found.keg} is on gas from {found.source}: a lid is never opened under pressure. Take "
        f"the keg off gas and relieve it, record it as disconnected under Gas system, then move "
        f"{item}."
    )
