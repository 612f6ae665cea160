"""How cold something has to stand: the strictest temperature any of its dates rests on."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal

from kegsafe.rules.date_candidates import limit_if_any
from kegsafe.rules.facts import Drink, House, ShelfLife

COLD = "cold_holding.maximum"


def hold_drink_at_or_below(
    drink: Drink, house: House, on: date, *, treated_as_tcs: bool
) -> Decimal | None:
    """Return the warmest temperature (°C) a drink may stand at; None where nothing says one.

    Its recipe, its own shelf life and those of every lot in it each have a
    say; the code's limit counts where the drink needs temperature control.
    """
    in_keg = (rule for part in drink.parts if not part.in_glass for rule in part.shelf_lives)
    known = [drink.hold_at_or_below_degc, *_held((*drink.shelf_lives, *in_keg))]
    return _strictest([*known, code_limit(house, on) if treated_as_tcs else None])


def hold_lot_at_or_below(
    shelf_lives: Iterable[ShelfLife], house: House, on: date
) -> Decimal | None:
    """Return the warmest temperature (°C) a lot may stand at, the code's limit counted always."""
    return _strictest([code_limit(house, on), *_held(shelf_lives)])


def code_limit(house: House, on: date) -> Decimal | None:
    """Return the cold-holding limit (°C) in force, None where code and venue fix none."""
    limit = limit_if_any(house, COLD, on)
    return None if limit is None else limit.value


def _held(rules: Iterable[ShelfLife]) -> list[Decimal | None]:
    return [rule.held_at_or_below_degc for rule in rules]


def _strictest(known: Iterable[Decimal | None]) -> Decimal | None:
    return min((each for each in known if each is not None), default=None)
