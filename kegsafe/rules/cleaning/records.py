"""What was recorded of a cycle, as the rules are told it. None is not recorded."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from kegsafe.rules.cleaning.chemicals import ChemicalFacts
from kegsafe.rules.cleaning.readings import Reading
from kegsafe.rules.cleaning.vocabulary import Application


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedStep:
    """One attempt at one step of a plan.

    `temperature_degc` is the lowest measured while the solution worked; `ph` is the
    solution's own. `outlet_ph` are the readings of the last rinse water, one per tap, and
    `tap_water_ph` the water's own by the same strip or meter. `passed` is what a look or an
    allergen test said.
    """

    position: int
    started_at: datetime | None = None
    ended_at: datetime | None = None
    application: Application | None = None
    chemical: ChemicalFacts | None = None
    strength: Reading | None = None
    temperature_degc: Decimal | None = None
    ph: Reading | None = None
    hardness_mg_per_l: Decimal | None = None
    flow_l_min: Decimal | None = None
    tap_water_ph: Reading | None = None
    outlet_ph: tuple[Reading, ...] = ()
    passed: bool | None = None

    @property
    def began_at(self) -> datetime | None:
        """Return when it began, as far as anything says so."""
        return self.started_at or self.ended_at

    @property
    def contact_s(self) -> Decimal | None:
        """Return the seconds from start to end; None where either is missing or they cross."""
        if self.started_at is None or self.ended_at is None or self.ended_at < self.started_at:
            return None
        return Decimal(int((self.ended_at - self.started_at).total_seconds()))


@dataclass(frozen=True, slots=True, kw_only=True)
class CycleFacts:
    """A cycle as recorded: its attempts at steps, in the order they were recorded.

    `outlets` is the number of taps on the line (1 for anything else); `bore_mm` the line's
    inner diameter, for what a flow means in it.
    """

    recorded: tuple[RecordedStep, ...]
    operator: str
    verified_by: str | None = None
    outlets: int = 1
    bore_mm: Decimal | None = None
