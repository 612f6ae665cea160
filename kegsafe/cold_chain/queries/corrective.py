"""Which excursion a corrective action is about: it is known by its place and when it began."""

from kegsafe.cold_chain.models import CorrectiveAction
from kegsafe.rules.cold.excursions import Excursion


def is_about(act: CorrectiveAction, found: Excursion) -> bool:
    """Say whether an action is about an excursion of its place.

    The good reading that ends an excursion may be the one before the next: what is known by that
    second is the next one. Of an excursion whose beginning is not known, actions taken while it
    lasted are about it, whatever beginning they were recorded for.
    """
    if act.excursion_from_s >= found.until_s:
        return False
    is_cut = found.begins_above and int(act.taken_at.timestamp()) >= found.from_s
    return act.excursion_from_s >= found.from_s or is_cut
