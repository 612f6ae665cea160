"""Deciding about time that nobody read."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import ROUND_CEILING, Decimal

from django.core.exceptions import ValidationError
from django.db import transaction

from kegsafe.cold_chain.models import GapDecision, Thermometer
from kegsafe.cold_chain.queries.standing import standards, thermometer_standing
from kegsafe.cold_chain.queries.undecided import UndecidedGap, UndecidedPlace, undecided_places
from kegsafe.equipment.models import Place
from kegsafe.ledger.sent_forms import claim
from kegsafe.ledger.services import Recorder, create, take_turn
from kegsafe.rules.cold.gap_decision import refusals
from kegsafe.rules.cold.history import Counts
from kegsafe.stock.facts import house
from kegsafe.venues.models import Venue

# What a refusal names that all places of one form have in common.
_OF_ALL = ("found", "thermometer")


@transaction.atomic
def decide_gap(
    *,
    place: Place,
    from_s: int,
    until_s: int,
    counts: str,
    found: str,
    decided_at: datetime,
    by: Recorder,
    measured_degc: Decimal | None = None,
    thermometer: Thermometer | None = None,
) -> GapDecision:
    """Store what a manager decided of a stretch of a place that nobody read.

    from_s, until_s : seconds of the epoch; the stretch must be over
    counts : 'cold', 'warm' or 'hold'
    found : what was found, in words

    Raises ValidationError for a stretch that is not over, for no words, and for 'cold' without a
    drink measured cold by a thermometer of the venue. Later decisions on the same stretch hold.
    """
    if until_s > int(decided_at.timestamp()):
        raise ValidationError("This time is not over. Read the place first: that ends it.")
    if not found.strip():
        raise ValidationError({"found": "Say what was found: a few words are enough."})
    if thermometer is not None and thermometer.venue_id != place.venue_id:
        raise ValidationError({"thermometer": "This thermometer belongs to another venue."})
    if measured_degc is not None:
        # To the warmer hundredth, so that nothing above a limit is stored as the limit.
        measured_degc = measured_degc.quantize(Decimal("0.01"), ROUND_CEILING)
    _refuse(place, Counts(counts), measured_degc, thermometer, decided_at)
    decision = GapDecision(
        place=place,
        from_s=from_s,
        until_s=until_s,
        counts=counts,
        found=found.strip(),
        measured_degc=measured_degc,
        thermometer=thermometer,
        decided_at=decided_at,
        decided_by=by.person,
    )
    create(decision, by=by, action="decided about unread time")
    return decision


@dataclass(frozen=True, slots=True)
class PlaceAsked:
    """A place that is decided about: the gaps that were shown of it, and the drink measured there.

    shown : as `UndecidedPlace.shown` gives it
    measured_degc : in degC; None: not measured
    """

    place: Place
    shown: str
    measured_degc: Decimal | None = None


@transaction.atomic
def decide_gaps(
    *,
    venue: Venue,
    asked: Sequence[PlaceAsked],
    counts: str,
    found: str,
    decided_at: datetime,
    by: Recorder,
    thermometer: Thermometer | None = None,
) -> list[GapDecision]:
    """Store one decision for each gap of the places asked about: all of them or none.

    Raises ValidationError with all that `decide_gap` refuses, and for a place whose unread time is
    no longer what was shown. What belongs to one place stands under "place-" and its key.
    Raises RecordedAlready for a form that was recorded before.
    """
    if any(each.place.venue_id != venue.pk for each in asked):
        raise ValueError("a decision stays inside one venue")
    take_turn(by)
    # First of all: to a form sent twice, its own decisions would be somebody else's.
    claim()
    waiting = undecided_places([each.place for each in asked], house(venue), decided_at)
    decided: list[GapDecision] = []
    refused: dict[str, set[str]] = defaultdict(set)
    for each in asked:
        try:
            decided += [
                decide_gap(
                    place=each.place,
                    from_s=gap.from_s,
                    until_s=gap.until_s,
                    counts=counts,
                    found=found,
                    decided_at=decided_at,
                    by=by,
                    measured_degc=each.measured_degc,
                    # Where nothing was measured no thermometer was used.
                    thermometer=thermometer if each.measured_degc is not None else None,
                )
                for gap in _as_shown(each, waiting.get(each.place.pk))
            ]
        except ValidationError as refusal:
            for field, sentence in _sentences(refusal):
                refused[field if field in _OF_ALL else f"place-{each.place.pk}"].add(sentence)
    if refused:
        raise ValidationError({field: sorted(said) for field, said in refused.items()})
    return decided


def _as_shown(asked: PlaceAsked, waiting: UndecidedPlace | None) -> tuple[UndecidedGap, ...]:
    if waiting is None or not waiting.gaps or waiting.shown != asked.shown:
        raise ValidationError(
            "What nobody read here has changed since this page was shown: it was read, or "
            "somebody decided. Look at it again before you decide."
        )
    return waiting.gaps


def _sentences(refusal: ValidationError) -> list[tuple[str, str]]:
    by_field = getattr(refusal, "error_dict", {"": refusal})
    return [
        (field, sentence)
        for field, errors in by_field.items()
        for sentence in ValidationError(errors).messages
    ]


def _refuse(
    place: Place,
    counts: Counts,
    measured_degc: Decimal | None,
    thermometer: Thermometer | None,
    now: datetime,
) -> None:
    at_venue = house(place.venue)
    limit = standards([place], at_venue, now)[place.pk].limit
    stands, allowed = (
        thermometer_standing(thermometer, at_venue, now) if thermometer else (None, None)
    )
    refused = dict(
        refusals(
            counts,
            measured_degc=measured_degc,
            has_thermometer=thermometer is not None,
            limit_degc=None if limit is None else Decimal(limit) / 100,
            accuracy_degc=stands.accuracy_degc(allowed) if stands and allowed else Decimal(0),
        )
    )
    if refused:
        raise ValidationError(refused)
