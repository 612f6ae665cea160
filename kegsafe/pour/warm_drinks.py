"""Which drinks stood in a place while it was above its limit, and what that did to each."""

from dataclasses import dataclass
from datetime import datetime

from kegsafe.cold_chain.models import CorrectiveAction
from kegsafe.cold_chain.queries.standing import actions, standings
from kegsafe.equipment.models import Place
from kegsafe.pour.queries import KegView, open_keg_views
from kegsafe.rules.cold.excursions import Excursion
from kegsafe.rules.findings import Finding, Severity
from kegsafe.rules.pour_check import PourVerdict, pour_check
from kegsafe.stock.facts import house

_ABOUT_THE_COLD = ("cold_holding.", "excursion.")


@dataclass(frozen=True, slots=True)
class WarmDrink:
    """A keg whose drink stood there, with its answer of now."""

    view: KegView
    verdict: PourVerdict

    @property
    def is_held(self) -> bool:
        """Say whether it is on hold already."""
        return self.view.row["state"] == "on_hold"

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Return what its temperatures mean, notes left out."""
        return tuple(
            finding
            for finding in self.verdict.findings
            if finding.rule.startswith(_ABOUT_THE_COLD) and finding.severity is not Severity.NOTE
        )


@dataclass(frozen=True, slots=True)
class WarmPlace:
    """An excursion, the drinks that stood there in it, and what was done about it so far."""

    place: Place
    excursion: Excursion
    drinks: tuple[WarmDrink, ...]
    actions: tuple[CorrectiveAction, ...]

    @property
    def to_hold(self) -> tuple[WarmDrink, ...]:
        """Return the drinks that are not on hold."""
        return tuple(drink for drink in self.drinks if not drink.is_held)


def warm_place(place: Place, from_s: int, now: datetime) -> WarmPlace | None:
    """Gather the excursion of a place at a second of the epoch; None when there is none.

    A fixed number of queries, whatever the number of kegs.
    """
    at_venue = house(place.venue)
    from_at = datetime.fromtimestamp(from_s, now.tzinfo)
    [stood] = standings([place], at_venue, min(from_at, now), now, now)
    found = stood.record.excursions if stood.record else ()
    excursion = next((each for each in found if each.from_s <= from_s <= each.until_s), None)
    if excursion is None:
        return None
    drinks = tuple(
        WarmDrink(view, pour_check(view.facts, now))
        for view in open_keg_views(place.venue, now)
        if _stood_there(view, place, excursion)
    )
    done = tuple(
        act
        for act in actions([place], excursion.from_s)
        if act.excursion_from_s <= excursion.until_s
    )
    return WarmPlace(place, excursion, drinks, done)


def _stood_there(view: KegView, place: Place, excursion: Excursion) -> bool:
    history = view.facts.fill.cold.history if view.facts.fill else None
    return history is not None and any(
        stay.key == place.pk and stay.from_s < excursion.until_s and stay.until_s > excursion.from_s
        for stay in history.stays
    )
