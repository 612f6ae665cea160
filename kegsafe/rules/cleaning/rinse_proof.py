"""Is the detergent out? The rinse water's pH against the tap water's own, at every tap."""

from collections.abc import Iterator
from decimal import Decimal

from kegsafe.rules.cleaning.checks import ask, stop
from kegsafe.rules.cleaning.guidance import Bound, amount
from kegsafe.rules.cleaning.readings import Reading
from kegsafe.rules.cleaning.records import RecordedStep
from kegsafe.rules.findings import Finding


def is_rinse_verified(tolerance: Bound, recorded: RecordedStep, outlets: int) -> bool:
    """Say whether a rinse is proved: every tap read, all of it within the tolerance."""
    return not any(rinse_findings(tolerance, recorded, outlets))


def rinse_findings(tolerance: Bound, recorded: RecordedStep, outlets: int) -> Iterator[Finding]:
    """Yield what stands against the rinse: a stop for a pH still off, an ask for one unread.

    `outlets` is how many taps the line has; each is read, because a dead leg keeps its
    detergent while the next tap runs clear.
    """
    citation = tolerance.citation
    tap_water = recorded.tap_water_ph
    if tap_water is None:
        yield ask(
            "cleaning.tap_water_ph_not_recorded",
            "The pH of the tap water itself was not recorded. Read it with the same strips and "
            "record it.",
            str(citation),
            citation.verified,
        )
    if len(recorded.outlet_ph) < outlets:
        yield ask(
            "cleaning.rinse_not_verified",
            f"The pH of the last rinse water is on record for {len(recorded.outlet_ph)} of "
            f"{outlets} outlet{'' if outlets == 1 else 's'}. Read it at every one.",
            str(citation),
            citation.verified,
        )
    if tap_water is not None:
        for number, outlet in enumerate(recorded.outlet_ph, start=1):
            yield from _outlet_findings(tolerance, tap_water, outlet, number)


def _outlet_findings(
    tolerance: Bound, tap_water: Reading, outlet: Reading, number: int
) -> Iterator[Finding]:
    assert tolerance.maximum is not None  # noqa: S101 - a tolerance has an upper end
    least, most = _difference(tap_water, outlet)
    citation = tolerance.citation
    if most is not None and most <= tolerance.maximum:
        return
    read = f"At outlet {number} the rinse water reads {_ph(outlet)}, the tap water {_ph(tap_water)}"
    if least > tolerance.maximum:
        over = amount(least - tolerance.maximum, "pH")
        yield stop(
            "cleaning.rinse_ph_off",
            f"{read}: {over} more than the {amount(tolerance.maximum, 'pH')} allowed between "
            "them. Detergent may still be in it. Rinse on, and read again.",
            str(citation),
            citation.verified,
        )
    else:
        yield ask(
            "cleaning.rinse_ph_unresolved",
            f"{read}: too coarse to tell {amount(tolerance.maximum, 'pH')}. Read both again with "
            "a finer strip or a meter.",
            str(citation),
            citation.verified,
        )


def _difference(one: Reading, other: Reading) -> tuple[Decimal, Decimal | None]:
    """Return the least and the most that two readings can differ; None where one has no end."""
    if one.highest is None or other.highest is None:
        return Decimal(0), None
    apart = max(one.lowest - other.highest, other.lowest - one.highest, Decimal(0))
    return apart, max(one.highest - other.lowest, other.highest - one.lowest)


def _ph(reading: Reading) -> str:
    if reading.highest is None:
        return f"pH {reading.lowest.normalize():f} or more"
    if reading.highest == reading.lowest:
        return f"pH {reading.lowest.normalize():f}"
    return f"pH {reading.lowest.normalize():f} to {reading.highest.normalize():f}"
