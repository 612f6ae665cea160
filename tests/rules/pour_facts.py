"""A keg with a whole and current record, and every way in which a record falls short of that.

Each defect is a function from whole facts to facts that lack something, are
late, or fail: the pour check may answer none of them with 'pour'.
"""

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from kegsafe.rules.allergens import AllergenFact, State
from kegsafe.rules.codes import code
from kegsafe.rules.cold.excursions import excursions
from kegsafe.rules.cold.history import Counts, Decision, History, Stay
from kegsafe.rules.facts import (
    Basis,
    ColdHolding,
    DateKind,
    Drink,
    EquipmentHistory,
    FillFacts,
    GlassItem,
    House,
    KegFacts,
    LidValve,
    LotStatus,
    Part,
    PourFacts,
    ShelfLife,
    Trigger,
)
from kegsafe.rules.findings import Finding, Severity

NOW = datetime(2026, 4, 10, 22, 0, tzinfo=UTC)  # a Friday evening at the venue
ZONE = ZoneInfo("America/New_York")
HOUR_S = 3600
FILLED_S = int((NOW - timedelta(days=2)).timestamp())
Defect = Callable[[PourFacts], PourFacts]


def a_part(**said: object) -> Part:
    """Return a bottle of spirit, accepted and opened three days ago."""
    usual = {
        "lot": "L-1",
        "ingredient": "White rum",
        "category": "spirit",
        "status": LotStatus.ACCEPTED,
        "status_reason": "",
        "date_kind": DateKind.NONE,
        "date_on": None,
        "is_prepared": False,
        "prepared_at": None,
        "business_date": None,
        "opened_at": NOW - timedelta(days=3),
    }
    return Part(**{**usual, **said})


def a_shelf_life(days: int = 10, **said: object) -> ShelfLife:
    """Return an in-keg rule somebody has signed."""
    usual = {
        "id": "shelf_life.kegged",
        "trigger": Trigger.KEGGED,
        "days": days,
        "hours": None,
        "held_at_or_below_degc": None,
        "basis": Basis.HOUSE_RULE,
        "reference": "House book p. 4",
        "approved_by": "Mara Quill",
        "approved_on": NOW.date() - timedelta(days=30),
    }
    return ShelfLife(**{**usual, **said})


def whole_facts(**said: object) -> PourFacts:
    """Return a keg of an acid drink whose record wants for nothing: it pours."""
    drink = Drink(
        name="Harbour Fizz",
        made_at=NOW - timedelta(days=2),
        business_date=None,
        filled_at=NOW - timedelta(days=2),
        parts=(a_part(),),
        measured_ph=Decimal("3.20"),
        shelf_lives=(a_shelf_life(),),
    )
    fill = FillFacts(
        drink=drink,
        state="in_keg",
        state_reason="",
        ready_from=NOW - timedelta(days=1),
        set_gauge_pa=Decimal(300_000),
        allergens=(),
        ingredients_with_unknown_allergens=(),
        cross_contact_accepted=frozenset(),
        total_so2_mg_per_l=Decimal(0),
        abv_percent=Decimal("9.5"),
        keg_history=_clean("Keg K1"),
        line_history=_clean("Line 1"),
        cold=ColdHolding(
            "Keg cooler",
            True,
            NOW - timedelta(hours=1),
            Decimal("3.0"),
            history=a_history(),
        ),
        glass=(GlassItem("Lime juice", (_lime(),)),),
    )
    keg = KegFacts("Keg K1", True, "", Decimal(900_000), "stainless")
    house = House(code=code("us_fda_2022"), zone=ZONE)
    return PourFacts(**{"keg": keg, "fill": fill, "house": house, **said})


def a_history(
    warm: Collection[int] = (),
    unread: Collection[int] = (),
    decisions: Iterable[Decision] = (),
    *,
    place: str = "Keg cooler",
    is_chilled: bool = True,
) -> History:
    """Return two days in a cooler, read each full hour up to an hour ago: at 3 °C and 5 °C at most.

    warm, unread : hours since the fill at which it read 9 °C, or nobody read
    """
    hours = [hour for hour in range(48) if hour not in unread]
    record = excursions(
        [FILLED_S + hour * HOUR_S for hour in hours],
        [900 if hour in warm else 300 for hour in hours],
        500,
        longest_gap=4 * HOUR_S,
        start=FILLED_S,
        end=FILLED_S + 48 * HOUR_S,
    )
    stay = Stay(
        place,
        is_chilled,
        FILLED_S,
        FILLED_S + 48 * HOUR_S,
        record,
        tuple(decisions),
    )
    return History(stay.from_s, stay.until_s, (stay,), last_read=(FILLED_S + 47 * HOUR_S, 300))


def a_decision(counts: Counts, from_hour: int, until_hour: int) -> Decision:
    """Return what a manager decided of some hours since the fill."""
    return Decision(
        FILLED_S + from_hour * HOUR_S,
        FILLED_S + until_hour * HOUR_S,
        counts,
        "Odile",
        NOW - timedelta(hours=2),
        "The power was on and the drink was cold.",
        Decimal("3.2"),
    )


def _clean(name: str) -> EquipmentHistory:
    return EquipmentHistory(
        name=name,
        previous_drink="Garden Spritz",
        previous_use_ended_at=NOW - timedelta(days=4),
        cleaned_at=NOW - timedelta(days=3),
    )


def _lime() -> Part:
    return a_part(
        lot="J-1",
        ingredient="Lime juice",
        category="citrus_juice",
        measured_ph=Decimal("2.20"),
        is_prepared=True,
        prepared_at=NOW - timedelta(hours=5),
        opened_at=None,
        in_glass=True,
        shelf_lives=(a_shelf_life(2, id="shelf_life.prepared", trigger=Trigger.PREPARED),),
    )


def keg(**said: object) -> Defect:
    return lambda facts: replace(facts, keg=replace(facts.keg, **said))


def fill(**said: object) -> Defect:
    return lambda facts: replace(facts, fill=replace(facts.fill, **said))


def drink(**said: object) -> Defect:
    return lambda facts: replace(
        facts, fill=replace(facts.fill, drink=replace(facts.fill.drink, **said))
    )


def added(part: Part) -> Defect:
    """Return the defect of one more lot in the keg."""
    return lambda facts: drink(parts=(*facts.fill.drink.parts, part))(facts)


def cold(**said: object) -> Defect:
    return lambda facts: replace(
        facts, fill=replace(facts.fill, cold=replace(facts.fill.cold, **said))
    )


def stood(history: History) -> Defect:
    """Return the defect of another past in the cold."""
    return cold(history=history)


def needing_its_cold(*more: Defect) -> Defect:
    """Return defects of a drink that needs time/temperature control: nobody measured its pH."""

    def spoiled(facts: PourFacts) -> PourFacts:
        for each in (drink(measured_ph=None), *more):
            facts = each(facts)
        return facts

    return spoiled


def keg_history(**said: object) -> Defect:
    return lambda facts: replace(
        facts,
        fill=replace(facts.fill, keg_history=replace(facts.fill.keg_history, **said)),
    )


def line_history(**said: object) -> Defect:
    return lambda facts: replace(
        facts,
        fill=replace(facts.fill, line_history=replace(facts.fill.line_history, **said)),
    )


def glass(*lots: Part) -> Defect:
    return fill(glass=(GlassItem("Lime juice", lots),))


_ALMOND = AllergenFact("almond", State.CONTAINS, None, "Orgeat")

DEFECTS: Mapping[str, Defect] = {
    "the keg is empty": lambda facts: replace(facts, fill=None),
    "the keg is out of service": keg(in_use=False, service_reason="dented"),
    "the keg has no rating": keg(rated_gauge_pa=None),
    "the keg is set above its rating": keg(rated_gauge_pa=Decimal(299_999)),
    "the keg is set at what opens the valve on its lid": keg(
        lid_valves=(LidValve("Relief valve V1", Decimal(300_000)),)
    ),
    "the setting of the valve on its lid is not on record": keg(
        lid_valves=(LidValve("Relief valve V1", None),)
    ),
    "the keg has brass in it": keg(metal="brass"),
    "the keg's metals are not known": keg(metal="not_known"),
    "the fill is on hold": fill(state="on_hold", state_reason="smells off"),
    "the fill is in a state nobody knows": fill(state="misread"),
    "the drink still rests": fill(ready_from=NOW + timedelta(minutes=1)),
    "the fill lies in the future": drink(filled_at=NOW + timedelta(minutes=1)),
    "no lot is on record": drink(parts=()),
    "a lot is on hold": added(a_part(status=LotStatus.ON_HOLD, status_reason="recall")),
    "a lot was rejected": added(a_part(status=LotStatus.REJECTED, status_reason="warm")),
    "a lot's use-by has passed": added(
        a_part(date_kind=DateKind.USE_BY, date_on=NOW.date() - timedelta(days=1))
    ),
    "a TCS lot has no opening date": added(
        a_part(ingredient="Cream", category="dairy", opened_at=None, date_kind=DateKind.NONE)
    ),
    "a TCS lot was opened too long ago": added(
        a_part(ingredient="Cream", category="dairy", opened_at=NOW - timedelta(days=9))
    ),
    "a preparation has no date": added(
        a_part(ingredient="Syrup", is_prepared=True, prepared_at=None)
    ),
    "the in-keg rule has run out": drink(shelf_lives=(a_shelf_life(1),)),
    "no in-keg rule is on record": drink(shelf_lives=()),
    "nobody signed the in-keg rule": drink(shelf_lives=(a_shelf_life(approved_by=""),)),
    "the keg was never cleaned": keg_history(cleaned_at=None),
    "the keg was not cleaned since its last drink": keg_history(cleaned_at=NOW - timedelta(days=5)),
    "the line was never cleaned": line_history(cleaned_at=None),
    "the line was not cleaned since its last drink": line_history(
        cleaned_at=NOW - timedelta(days=5)
    ),
    "the last drink left almond in the keg": keg_history(residue=frozenset({"almond"})),
    "the last drink left almond in the line": line_history(residue=frozenset({"almond"})),
    "nobody knows where the keg stands": cold(place=None),
    "no temperature was ever read": cold(read_at=None, temperature_degc=None),
    "the temperature was read long ago": cold(read_at=NOW - timedelta(hours=4, seconds=1)),
    "the temperature was read in the future": cold(read_at=NOW + timedelta(seconds=1)),
    "how cold the drink was kept is not on record": stood(None),
    "the place is meant to be read more often than it was": cold(interval_s=1700),
    "a night was not read and nobody decided about it": stood(a_history(unread=range(10, 20))),
    "a night was not read and a manager holds the drink": stood(
        a_history(unread=range(10, 20), decisions=[a_decision(Counts.HOLD, 9, 20)])
    ),
    "a manager decided about half of the night": stood(
        a_history(unread=range(10, 20), decisions=[a_decision(Counts.COLD, 9, 15)])
    ),
    "the first day is in no place": stood(replace(a_history(), from_s=FILLED_S - HOUR_S)),
    "the cooler was too warm for two hours": needing_its_cold(stood(a_history(warm=[20]))),
    "the cooler was too warm for four hours": needing_its_cold(stood(a_history(warm=[20, 21, 22]))),
    "a night that nobody read counts as warm": needing_its_cold(
        stood(a_history(unread=range(10, 20), decisions=[a_decision(Counts.WARM, 9, 20)]))
    ),
    "the drink stood in a place that is not cold": needing_its_cold(
        stood(a_history(unread=range(10, 48), place="Bar top", is_chilled=False))
    ),
    "a clean of the line is overdue": fill(
        due_findings=(Finding("cleaning.overdue", Severity.ASK, "Overdue.", "The plan"),)
    ),
    "the drink is held warmer than its rule allows": drink(
        shelf_lives=(a_shelf_life(held_at_or_below_degc=Decimal("2.9")),)
    ),
    "the allergens of an ingredient are not known": fill(
        ingredients_with_unknown_allergens=("Bitters",)
    ),
    "the lime for the glass is not in stock": glass(),
    "the lime for the glass is too old": glass(
        replace(_lime(), prepared_at=NOW - timedelta(days=3))
    ),
}
