"""What the rules are told: plain, frozen facts about a drink, its lots, its keg and its place.

None means not recorded. No fact is ever filled in with a kind guess.
"""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum
from zoneinfo import ZoneInfo

from kegsafe.rules.allergens import AllergenFact
from kegsafe.rules.codes import Code
from kegsafe.rules.cold.history import History
from kegsafe.rules.date_marking import FrozenSpan
from kegsafe.rules.findings import Finding
from kegsafe.rules.limits import LocalLimit
from kegsafe.rules.tcs import ProductAssessment


class Trigger(StrEnum):
    """The event a shelf life is counted from."""

    OPENED = "opened"
    PREPARED = "prepared"
    THAWED = "thawed"
    KEGGED = "kegged"


class Basis(StrEnum):
    """What a shelf life rests on."""

    MAKER_LABEL = "maker_label"
    CODE_CLAUSE = "code_clause"
    LABORATORY_STUDY = "laboratory_study"
    HOUSE_RULE = "house_rule"


class LotStatus(StrEnum):
    """Whether a lot may be used."""

    ACCEPTED = "accepted"
    REJECTED = "rejected"
    ON_HOLD = "on_hold"
    DISCARDED = "discarded"


class DateKind(StrEnum):
    """What the date on a pack means."""

    USE_BY = "use_by"
    BEST_BEFORE = "best_before"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class ShelfLife:
    """So many days or hours after an event, on a basis somebody answers for.

    Exactly one of `days` (calendar days, the event's day is day 1) and `hours`
    (elapsed) is set.
    """

    id: str
    trigger: Trigger
    days: int | None
    hours: int | None
    held_at_or_below_degc: Decimal | None
    basis: Basis
    reference: str
    approved_by: str
    approved_on: date | None
    assessment: ProductAssessment | None = None

    @property
    def length(self) -> str:
        """Return the length in words: '3 days' or '8 hours'."""
        number, noun = (self.days, "day") if self.days else (self.hours, "hour")
        return f"{number} {noun}{'' if number == 1 else 's'}"


@dataclass(frozen=True, slots=True)
class Part:
    """One lot that went into a drink, at any depth, or goes into its glass.

    `behind` are the lots it was made of, at any depth, for a lot judged by
    itself. A drink lists all its lots side by side, and there it stays empty.
    """

    lot: str
    ingredient: str
    category: str
    status: LotStatus
    status_reason: str
    date_kind: DateKind
    date_on: date | None
    is_prepared: bool
    prepared_at: datetime | None
    business_date: date | None
    opened_at: datetime | None
    thawed_at: datetime | None = None
    frozen: tuple[FrozenSpan, ...] = ()
    measured_ph: Decimal | None = None
    measured_water_activity: Decimal | None = None
    heat_treated_and_packaged: bool = False
    shelf_stable_unopened: bool = False
    date_mark_exempt: bool = False
    assessment: ProductAssessment | None = None
    shelf_lives: tuple[ShelfLife, ...] = ()
    in_glass: bool = False
    warning_group: str = ""
    behind: tuple["Part", ...] = ()

    @property
    def name(self) -> str:
        """Return how a finding calls it."""
        return f"{self.ingredient} (lot {self.lot})"


@dataclass(frozen=True, slots=True)
class Drink:
    """A drink with its own evidence, from the making of the batch to the keg."""

    name: str
    made_at: datetime
    business_date: date | None
    filled_at: datetime
    parts: tuple[Part, ...]
    measured_ph: Decimal | None = None
    measured_water_activity: Decimal | None = None
    assessment: ProductAssessment | None = None
    shelf_lives: tuple[ShelfLife, ...] = ()
    hold_at_or_below_degc: Decimal | None = None


@dataclass(frozen=True, slots=True)
class House:
    """The venue a drink is judged in: its code, its own limits, its clock."""

    code: Code
    zone: ZoneInfo
    local_limits: tuple[LocalLimit, ...] = ()
    best_before_binds: bool = False


@dataclass(frozen=True, slots=True)
class LidValve:
    """A valve on a keg's lid, and the gauge pressure in Pa that opens it; None: not recorded."""

    name: str
    opens_gauge_pa: Decimal | None


@dataclass(frozen=True, slots=True)
class KegFacts:
    """The keg as fill and pour need it, with each valve on its lid. Pressures are gauge, in Pa."""

    name: str
    in_use: bool
    service_reason: str
    rated_gauge_pa: Decimal | None
    metal: str
    lid_valves: tuple[LidValve, ...] = ()


@dataclass(frozen=True, slots=True)
class EquipmentHistory:
    """What a keg or line held before this drink, and its last clean since.

    `residue` are the allergenic sources earlier drinks left and no allergen
    clean, verified, has removed since. `previous_use_ended_at` is None when it
    never held anything before.
    """

    name: str
    previous_drink: str | None
    previous_use_ended_at: datetime | None
    cleaned_at: datetime | None
    residue: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class ColdHolding:
    """Where the keg stands, the last temperature read there, and where it stood before.

    `interval_s` are the seconds in which the place is meant to be read, None where nobody said.
    `history` is what was read wherever this drink stood, up to the moment it was gathered.
    """

    place: str | None
    place_is_chilled: bool
    read_at: datetime | None
    temperature_degc: Decimal | None
    interval_s: int | None = None
    history: History | None = None


@dataclass(frozen=True, slots=True)
class GlassItem:
    """An ingredient added in the glass and the lots of it in stock."""

    ingredient: str
    lots: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class FillFacts:
    """A drink in a keg: what was recorded when it was filled and since.

    `line_findings` is what a cleaning under way says of its line, `due_findings` which clean of
    keg or line is overdue, `gear_findings` what stands against the keg's pressure equipment.
    """

    drink: Drink
    state: str
    state_reason: str
    ready_from: datetime
    set_gauge_pa: Decimal
    allergens: tuple[AllergenFact, ...]
    ingredients_with_unknown_allergens: tuple[str, ...]
    cross_contact_accepted: frozenset[str]
    total_so2_mg_per_l: Decimal | None
    abv_percent: Decimal | None
    keg_history: EquipmentHistory
    line_history: EquipmentHistory | None
    cold: ColdHolding
    glass: tuple[GlassItem, ...] = ()
    line_findings: tuple[Finding, ...] = ()
    due_findings: tuple[Finding, ...] = ()
    gear_findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class PourFacts:
    """Everything known that bears on 'may I pour this keg?'. `fill` is None for an empty keg."""

    keg: KegFacts
    fill: FillFacts | None
    house: House
