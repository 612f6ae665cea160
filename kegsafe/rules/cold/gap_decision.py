"""May a stretch that nobody read count as cold? Only on a drink measured cold, and somebody's word.

A cold drink now is no proof of a cold night: a keg warms and cools slowly. What else was seen is
therefore asked for in words, and the decision stands with its name on every pour check.
"""

from collections.abc import Iterator
from decimal import Decimal

from kegsafe.rules.cold.history import Counts
from kegsafe.rules.degrees import degrees, degrees_apart


def refusals(
    counts: Counts,
    *,
    measured_degc: Decimal | None,
    has_thermometer: bool,
    limit_degc: Decimal | None,
    accuracy_degc: Decimal,
) -> Iterator[tuple[str, str]]:
    """Yield what stands against a decision: which part of it, and the sentence.

    accuracy_degc : what the thermometer may be off as its checks stand, 0 or more
    limit_degc : the place's limit; None: nobody has set one
    """
    if counts is not Counts.COLD:
        return
    if measured_degc is None:
        yield (
            "measured_degc",
            "To count it as cold, measure the drink: its temperature, such as 3.5 °C.",
        )
        return
    if not has_thermometer:
        yield "thermometer", "Say which thermometer it was measured with."
    if limit_degc is None:
        yield "counts", "No limit holds in this place, so nothing can be said to be cold enough."
    elif measured_degc + accuracy_degc > limit_degc:
        off = f", give or take {degrees_apart(accuracy_degc)}" if accuracy_degc else ""
        most = degrees(limit_degc)
        yield (
            "measured_degc",
            f"The drink measured {degrees(measured_degc)}{off}; the limit is {most}. "
            "It cannot count as cold: count it as above the limit, or hold it.",
        )
