"""One venue while its scenario is laid: its clock, its people, and everything named so far."""

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from kegsafe.demo.moments import Moments
from kegsafe.demo.scenario import BadScenario
from kegsafe.ledger.services import Recorder
from kegsafe.quantities import Kind, read
from kegsafe.stock.models import Measure
from kegsafe.venues.models import Venue

_KINDS = {
    Measure.VOLUME.value: Kind.VOLUME,
    Measure.MASS.value: Kind.MASS,
    Measure.COUNT.value: Kind.COUNT,
}


@dataclass(slots=True)
class Desk:
    """Where the acts of one venue are carried out.

    A scenario names each record once ("rum 1") and refers to it by that name;
    `named` holds the records by kind and name, and the ways of doing a thing.
    """

    venue: Venue
    moments: Moments
    named: dict[tuple[str, str], Any] = field(default_factory=dict)

    def by(self, person: str) -> Recorder:
        """Return a person of the scenario as the ledger names them."""
        return Recorder(chain_key=self.venue.chain_id, person=person)

    def keep(self, kind: str, name: str, record: Any) -> None:
        """Remember a record under its name; a keg's fill or tapping takes the place of the last."""
        self.named[kind, name] = record

    def get(self, kind: str, name: str) -> Any:
        """Return a record that was named before. Raises BadScenario when there is none."""
        found = self.named.get((kind, name))
        if found is None:
            raise BadScenario(f'there is no {kind} called "{name}" yet')
        return found


def measured(text: str, measure: str) -> Decimal:
    """Return an amount as typed, in ml, g or pieces."""
    return read(text, _KINDS[measure]).value


def read_as(text: str | None, kind: Kind) -> Decimal | None:
    """Return a quantity as typed, in its base unit; None where nothing is said."""
    return None if text is None else read(text, kind).value
