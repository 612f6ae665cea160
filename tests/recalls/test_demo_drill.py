"""A drill on the demo finds every affected keg in one step, and a recall shows at once."""

from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
import time_machine
from django.utils import timezone

from kegsafe.batches.models import Draw, Fill
from kegsafe.pour.queries import open_keg_views
from kegsafe.recalls.services import begin_recall
from kegsafe.rules.findings import Outcome
from kegsafe.rules.pour_check import pour_check
from kegsafe.stock.models import Lot
from kegsafe.venues.models import Venue
from tests.builders import a_recorder
from tests.laid_demo import laid_demo

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 8, 3, 16, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def laid(django_db_setup, django_db_blocker) -> Iterator[None]:
    with (
        django_db_blocker.unblock(),
        time_machine.travel(NOW, tick=False),
        laid_demo(timezone.now()),
    ):
        yield


def fills_by_hand(lot: Lot) -> set[int]:
    """Follow the draws one by one, as a person with a pencil would."""
    waiting, seen, batches = [lot.pk], set(), set()
    while waiting:
        key = waiting.pop()
        if key in seen:
            continue
        seen.add(key)
        for draw in Draw.objects.filter(lot=key).select_related("preparation"):
            if draw.batch_id:
                batches.add(draw.batch_id)
            else:
                waiting.append(draw.preparation.lot_id)
    return set(Fill.objects.filter(batch__in=batches).values_list("pk", flat=True))


def every_lot() -> list[Lot]:
    return list(Lot.objects.exclude(status=Lot.Status.REJECTED).select_related("venue"))


def test_a_drill_finds_every_keg_that_a_person_with_a_pencil_finds(laid):
    assert len(every_lot()) > 20
    deepest = 0
    for lot in every_lot():
        by = a_recorder(lot.venue)
        drill = begin_recall(venue=lot.venue, lots=[lot], reason="Drill", is_drill=True, by=by)
        found = set(drill.items.exclude(fill=None).values_list("fill_id", flat=True))
        assert found == fills_by_hand(lot), lot
        deepest = max(deepest, len(found))
    assert deepest >= 3


def test_a_recall_stops_the_pouring_of_every_affected_keg_at_once(laid):
    bar = Venue.objects.order_by("pk").first()
    lot = max(
        (lot for lot in every_lot() if lot.venue_id == bar.pk and lot.status == "accepted"),
        key=lambda lot: Fill.objects.filter(
            pk__in=fills_by_hand(lot), state__in=Fill.OPEN_STATES
        ).count(),
    )
    affected = fills_by_hand(lot)
    before = verdicts(bar)
    begin_recall(venue=bar, lots=[lot], reason="Glass", by=a_recorder(bar))
    after = verdicts(bar)
    stopped = {fill for fill in after if fill in affected}
    assert len(stopped) >= 2
    assert {after[fill] for fill in stopped} == {Outcome.STOP}
    assert {before[fill] for fill in stopped} != {Outcome.STOP}
    untouched = after.keys() - affected
    assert {fill: after[fill] for fill in untouched} == {fill: before[fill] for fill in untouched}


def verdicts(bar: Venue) -> dict[int, Outcome]:
    now = timezone.now()
    return {
        view.row["fill_id"]: pour_check(view.facts, now).outcome for view in open_keg_views(bar)
    }
