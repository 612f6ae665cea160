"""The owner's audit: everything in the register, what is due, failed or missing, and the rooms.

Page and PDF are both made from it.
"""

from dataclasses import dataclass
from datetime import date

from kegsafe.equipment.models import Service
from kegsafe.pressure.models import Check, Document, GasRoom
from kegsafe.pressure.queries import RegisterRow, dues_in, register, sorted_by, verdicts_of
from kegsafe.pressure.queries.facts import unmended
from kegsafe.rules.pressure.due import Due
from kegsafe.rules.pressure.regimes import Regime, regime_of
from kegsafe.rules.pressure.room import RoomVerdict
from kegsafe.venues.models import Venue


@dataclass(frozen=True, slots=True)
class Asking:
    """One thing that is due for one reason, and everything of one kind it is due on."""

    due: Due
    rows: tuple[RegisterRow, ...]

    @property
    def names(self) -> str:
        """Return the kind once, and each name: Keg K1, K2."""
        names = sorted((row.name for row in self.rows), key=lambda name: (len(name), name))
        return f"{self.rows[0].kind_label} {', '.join(names)}"


@dataclass(frozen=True, slots=True)
class Audit:
    """What stands in the register on a day.

    `missing` are rows without any certificate, declaration or report on file.
    """

    venue: Venue
    today: date
    regime: Regime | None
    rows: tuple[RegisterRow, ...]
    defects: tuple[Check, ...]
    missing: tuple[RegisterRow, ...]
    rooms: tuple[tuple[GasRoom, RoomVerdict], ...]

    @property
    def asking(self) -> tuple[Asking, ...]:
        """Return what is due or not known, the most urgent first; twenty like kegs are one."""
        found: dict[tuple[str, Due], list[RegisterRow]] = {}
        for each in dues_in(self.rows):
            found.setdefault((each.row.kind, each.due), []).append(each.row)
        return tuple(Asking(each, tuple(rows)) for (_, each), rows in found.items())

    @property
    def count_asking(self) -> int:
        return sum(len(row.asking) for row in self.rows)

    @property
    def without_papers(self) -> str:
        """Return everything without a paper on file, kind by kind."""
        kinds: dict[str, list[str]] = {}
        for row in sorted(self.missing, key=lambda row: (row.kind, len(row.name), row.name)):
            kinds.setdefault(row.kind_label, []).append(row.name)
        return "; ".join(f"{kind} {', '.join(names)}" for kind, names in kinds.items())

    @property
    def out_of_use(self) -> tuple[RegisterRow, ...]:
        return tuple(row for row in self.rows if row.service != Service.IN_USE)


def audit_of(venue: Venue, today: date) -> Audit:
    """Gather the audit of a venue: eight queries, whatever its size."""
    rows = tuple(sorted_by(register(venue, today), "due"))
    papers = Document.objects.filter(venue=venue).exclude(kind=Document.Kind.PHOTOGRAPH)
    with_papers = {
        ("keg", keg) if keg else ("item", item) for item, keg in papers.values_list("item", "keg")
    }
    defects = unmended(Check.objects.filter(venue=venue)).select_related("item", "keg")
    return Audit(
        venue=venue,
        today=today,
        regime=regime_of(venue.code_key),
        rows=rows,
        defects=tuple(defects),
        missing=tuple(row for row in rows if row.owner not in with_papers),
        rooms=tuple(verdicts_of(venue)),
    )
