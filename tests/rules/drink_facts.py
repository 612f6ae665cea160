"""A drink, its lots and the bar it is judged in, as plain facts: a test names only what matters."""

from datetime import date, datetime, time
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from kegsafe.rules.codes import code
from kegsafe.rules.facts import (
    Basis,
    DateKind,
    Drink,
    House,
    LotStatus,
    Part,
    ShelfLife,
    Trigger,
)
from kegsafe.rules.tcs import ProductAssessment

ZONE = ZoneInfo("America/New_York")
LONDON = ZoneInfo("Europe/London")


def noon(day: str, zone: ZoneInfo = ZONE) -> datetime:
    """Return midday of a date such as 2026-05-04."""
    return datetime.combine(date.fromisoformat(day), time(12), tzinfo=zone)


def a_house(key: str = "us_fda_2022", zone: ZoneInfo = ZONE, **facts: Any) -> House:
    return House(code=code(key), zone=zone, **facts)


def in_england(**facts: Any) -> House:
    return a_house("england", LONDON, **facts)


def a_part(ingredient: str, *, category: str, **facts: Any) -> Part:
    """A bought lot, accepted, with no date on it, not yet opened."""
    stated = {
        "lot": "260401-01",
        "status": LotStatus.ACCEPTED,
        "status_reason": "",
        "date_kind": DateKind.NONE,
        "date_on": None,
        "is_prepared": False,
        "prepared_at": None,
        "business_date": None,
        "opened_at": None,
    }
    return Part(**{**stated, "ingredient": ingredient, "category": category, **facts})


def opened(ingredient: str, on: str, *, category: str, use_by: str = "", **facts: Any) -> Part:
    """A bought lot that was opened on a day; `use_by` is the date on the pack."""
    if use_by:
        facts |= {"date_kind": DateKind.USE_BY, "date_on": date.fromisoformat(use_by)}
    return a_part(ingredient, category=category, opened_at=noon(on), **facts)


def prepared(ingredient: str, on: str, *, category: str, **facts: Any) -> Part:
    """A lot made in house on a day."""
    return a_part(ingredient, category=category, is_prepared=True, prepared_at=noon(on), **facts)


def a_drink(*parts: Part, made: str, filled: str = "", **facts: Any) -> Drink:
    """A drink mixed on a day and filled the same day, unless `filled` says otherwise."""
    return Drink(
        name=facts.pop("name", "Melon Highball"),
        made_at=noon(made),
        business_date=facts.pop("business_date", None),
        filled_at=noon(filled or made),
        parts=parts,
        **facts,
    )


def keeps(days: int | None, trigger: Trigger = Trigger.KEGGED, **facts: Any) -> ShelfLife:
    """A house rule somebody answers for; in hours when `days` is None."""
    stated = {
        "id": f"shelf_life.{trigger.value}",
        "trigger": trigger,
        "days": days,
        "hours": None,
        "held_at_or_below_degc": None,
        "basis": Basis.HOUSE_RULE,
        "reference": "",
        "approved_by": "Mara Lindqvist",
        "approved_on": date(2026, 1, 5),
    }
    return ShelfLife(**{**stated, **facts})


def an_assessment(**facts: Any) -> ProductAssessment:
    """A food technologist's judgement, current from the start of 2026."""
    stated = {
        "reference": "FT-2026-014",
        "competent_person": "Dr Ines Falk",
        "role": "food technologist",
        "assessed_on": date(2026, 1, 5),
        "expires_on": None,
        "ph": Decimal("4.05"),
        "water_activity": Decimal("0.96"),
        "concludes_not_tcs": False,
        "maximum_days": None,
        "scope": "the drink as made by its recipe, in a keg under CO2 at or below 5 °C",
    }
    return ProductAssessment(**{**stated, **facts})
