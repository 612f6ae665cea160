"""The limits a place was held to over a stretch of time: each day by the limit of that day.

A limit that changes tomorrow neither forgives nor blames yesterday. The same goes for what a
thermometer may be off: it counts in the stretches in which the thermometer was not believed.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from decimal import Decimal

from kegsafe.rules.cold.excursions import ColdRecord, Excursion, Gap
from kegsafe.rules.cold.temperature_log import limit_centi_degc, reading_centi_degc
from kegsafe.rules.cold.thermometers import Doubt
from kegsafe.rules.date_candidates import limit_if_any
from kegsafe.rules.facts import House
from kegsafe.rules.limits import EffectiveLimit

NO_LIMIT = 32_767  # hundredths of a degC: above what any reading can say


@dataclass(frozen=True, slots=True)
class Held:
    """What readings are held against from a second of the epoch until the next begins.

    limit : hundredths of a degC; None: nobody had set one
    accuracy : hundredths of a degC the thermometer may have been off
    citation : whose limit it is
    """

    from_s: int
    limit: int | None
    accuracy: int
    citation: str

    @property
    def good_up_to(self) -> int:
        """Return the warmest good reading in hundredths of a degC."""
        return NO_LIMIT if self.limit is None else self.limit - self.accuracy


def limits_of_days(
    house: House, rule: str, from_s: int, until_s: int
) -> list[tuple[int, EffectiveLimit | None]]:
    """Return the limits in force over a stretch, each with the second it begins to hold.

    The first holds from `from_s`, the others from midnight of a day of the venue. None where
    neither the code nor the venue had set one.

    from_s, until_s : seconds of the epoch, in order
    """
    first, last = (datetime.fromtimestamp(at, house.zone).date() for at in (from_s, until_s))
    found = [(from_s, limit_if_any(house, rule, first))]
    for day in sorted(set(_days_of_change(house, rule))):
        if first < day <= last:
            begins = datetime.combine(day, time(), house.zone)
            found.append((int(begins.timestamp()), limit_if_any(house, rule, day)))
    return found


def held_over(
    limits: Sequence[tuple[int, EffectiveLimit | None]],
    until_s: int,
    *,
    own_degc: Decimal | None,
    doubts: Sequence[Doubt],
    off_degc: Decimal,
) -> tuple[Held, ...]:
    """Return what a place's readings are held against from the first of `limits` on.

    Parameters
    ----------
    limits : as `limits_of_days` gives them; at least one
    own_degc : the place's own limit, which counts where it is the colder one
    doubts : when its thermometer was not believed
    off_degc : what it may have been off then
    """
    from_s = limits[0][0]
    edges = {begins for begins, _ in limits}
    edges |= {at for doubt in doubts for at in _ends(doubt) if from_s < at < until_s}
    held: list[Held] = []
    for at in sorted(edges):
        governing = [limit for begins, limit in limits if begins <= at][-1]
        limit, citation = _colder(governing, own_degc)
        is_doubtful = any(_holds(doubt, at) for doubt in doubts)
        accuracy = reading_centi_degc(off_degc) if is_doubtful else 0
        each = Held(at, limit, accuracy, citation)
        if not held or replace(each, from_s=held[-1].from_s) != held[-1]:
            held.append(each)
    return tuple(held)


def _days_of_change(house: House, rule: str) -> Iterator[date]:
    for row in house.code.rows.get(rule, ()):
        yield row.valid_from
    for own in house.local_limits:
        if own.rule == rule:
            yield own.valid_from
            if own.approved_on is not None:
                yield own.approved_on


def _colder(governing: EffectiveLimit | None, own_degc: Decimal | None) -> tuple[int | None, str]:
    limit = None if governing is None else limit_centi_degc(governing.value)
    own = None if own_degc is None else limit_centi_degc(own_degc)
    if own is not None and (limit is None or own < limit):
        return own, "this place's own limit"
    return limit, governing.citation if governing else ""


def _ends(doubt: Doubt) -> list[int]:
    return [int(at.timestamp()) for at in (doubt.from_at, doubt.until_at) if at is not None]


def _holds(doubt: Doubt, at_s: int) -> bool:
    begun = doubt.from_at is None or int(doubt.from_at.timestamp()) <= at_s
    return begun and (doubt.until_at is None or at_s < int(doubt.until_at.timestamp()))


def held_between(held: Sequence[Held], from_s: int, until_s: int) -> tuple[Held, ...]:
    """Cut what a place was held to down to a stretch of it: seconds of the epoch.

    A stretch that begins before the first of `held` is held to that one from its beginning.
    """
    first = max((n for n, each in enumerate(held) if each.from_s <= from_s), default=0)
    later = (each for each in held[first + 1 :] if each.from_s < until_s)
    return (replace(held[first], from_s=from_s), *later)


def record_over(
    held: Sequence[Held], until_s: int, record: Callable[[int, int, Held], ColdRecord]
) -> ColdRecord:
    """Return what a log shows over a stretch in which the limit may change.

    held : in order; the stretch begins with the first
    until_s : second of the epoch the stretch ends with
    record : gives what the log shows between two seconds against one of `held`
    """
    ends = [*(each.from_s for each in held[1:]), until_s]
    parts = [record(each.from_s, end, each) for each, end in zip(held, ends, strict=True)]
    return parts[0] if len(parts) == 1 else _joined(parts)


def _joined(parts: Sequence[ColdRecord]) -> ColdRecord:
    """Join what a change of the limit cut in two: one stay above is one excursion."""
    seams = {part.from_s for part in parts[1:]}
    excursions: list[Excursion] = []
    gaps: list[Gap] = []
    for number, part in enumerate(parts):
        for each in part.excursions:
            ended = replace(
                each,
                is_open=each.is_open and number == len(parts) - 1,
                begins_above=each.begins_above and number == 0,
            )
            if excursions and excursions[-1].until_s == each.from_s in seams:
                ended = _one(excursions.pop(), ended)
            excursions.append(ended)
        for gap in part.gaps:
            if gaps and gaps[-1].until_s == gap.from_s in seams and _count_alike(gaps[-1], gap):
                gaps.append(replace(gap, from_s=gaps.pop().from_s))
            else:
                gaps.append(gap)
    return ColdRecord(parts[0].from_s, parts[-1].until_s, tuple(excursions), tuple(gaps))


def _count_alike(first: Gap, second: Gap) -> bool:
    return first.counts_as_above == second.counts_as_above


def _one(first: Excursion, second: Excursion) -> Excursion:
    warmest = max(first, second, key=lambda each: each.warmest_centi_degc)
    return Excursion(
        from_s=first.from_s,
        until_s=second.until_s,
        begins_above=first.begins_above,
        is_open=second.is_open,
        warmest_centi_degc=warmest.warmest_centi_degc,
        warmest_at_s=warmest.warmest_at_s,
        unread_s=first.unread_s + second.unread_s,
        line_from_s=first.line_from_s,
        line_until_s=second.line_until_s,
        line_s=first.line_s + second.line_s,
        area_degc_h=first.area_degc_h + second.area_degc_h,
        equivalent_h=first.equivalent_h + second.equivalent_h,
        unverified_h=first.unverified_h + second.unverified_h,
    )
