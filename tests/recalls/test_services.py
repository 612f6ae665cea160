"""Beginning a recall holds everything at once; a drill holds nothing and lists the same."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from kegsafe.batches import services as batches
from kegsafe.batches.models import Fill
from kegsafe.ledger.models import Chain
from kegsafe.ledger.verification import verify_chain, verify_records
from kegsafe.recalls import services
from kegsafe.recalls.models import RecallItem
from kegsafe.stock import services as stock
from kegsafe.stock.models import Lot
from tests.builders import (
    a_batch,
    a_fill,
    a_lot,
    a_preparation,
    a_recorder,
    a_venue,
)

pytestmark = [pytest.mark.django_db, pytest.mark.records]


@pytest.fixture
def venue():
    return a_venue()


@pytest.fixture
def by(venue):
    return a_recorder(venue)


@pytest.fixture
def juice(venue):
    """A lot of which some is left, some is in a cordial, and some in a keg through it."""
    return a_lot(venue)


@pytest.fixture
def cordial(venue, juice):
    return a_preparation(venue, juice).lot


@pytest.fixture
def fill(venue, cordial):
    return a_fill(venue, batch=a_batch(venue, cordial))


def begun(venue, by, *lots, **said):
    return services.begin_recall(venue=venue, lots=lots, reason="Glass", by=by, **said)


def found(item, by, **said):
    facts = {"amount_found": item.amount, "disposition": "kept", **said}
    return services.settle_item(item=item, found=True, by=by, **facts)


class TestBeginning:
    def test_holds_the_lot_what_was_made_of_it_and_the_keg(self, venue, by, juice, cordial, fill):
        recall = begun(venue, by, juice)
        for held in (juice, cordial, fill):
            held.refresh_from_db()
        assert (juice.status, cordial.status) == (Lot.Status.ON_HOLD, Lot.Status.ON_HOLD)
        assert (fill.state, fill.state_reason) == (Fill.State.ON_HOLD, "Recall 1: Glass")
        assert {(item.lot, item.fill) for item in recall.items.all()} == {
            (juice, None),
            (cordial, None),
            (None, fill),
        }

    def test_a_drill_lists_the_same_and_holds_nothing(self, venue, by, juice, cordial, fill):
        drill = begun(venue, by, juice, is_drill=True)
        juice.refresh_from_db()
        fill.refresh_from_db()
        assert (juice.status, fill.state) == (Lot.Status.ACCEPTED, Fill.State.IN_KEG)
        assert drill.items.count() == 3
        assert not drill.items.filter(was_held=True).exists()

    def test_what_did_not_touch_the_lot_is_left_alone(self, venue, by, juice, fill):
        other = a_fill(venue)
        begun(venue, by, juice)
        other.refresh_from_db()
        assert other.state == Fill.State.IN_KEG

    def test_what_is_on_hold_already_keeps_its_reason(self, venue, by, juice, fill):
        batches.hold_fill(fill=fill, reason="Sour", by=by)
        recall = begun(venue, by, juice)
        fill.refresh_from_db()
        assert fill.state_reason == "Sour"
        assert recall.items.get(fill=fill).was_held is False

    def test_what_was_poured_before_is_listed_as_gone(self, venue, by, juice, fill):
        batches.empty_fill(fill=fill, by=by)
        item = begun(venue, by, juice).items.get(fill=fill)
        assert (item.reach, item.outcome) == ("served", "gone")
        with pytest.raises(ValidationError, match="gone before the recall began"):
            found(item, by)

    def test_recalls_and_drills_are_numbered_together(self, venue, by, juice):
        assert str(begun(venue, by, juice, is_drill=True)) == "Drill 1"
        assert str(begun(venue, by, juice)) == "Recall 2"

    def test_without_a_lot_there_is_no_recall(self, venue, by):
        with pytest.raises(ValidationError, match="at least one lot"):
            begun(venue, by)

    def test_a_lot_of_another_bar_is_refused(self, venue, by):
        with pytest.raises(ValidationError, match="lots of this venue"):
            begun(venue, by, a_lot(a_venue()))

    def test_the_longest_reason_fits_what_each_keg_says(self, venue, by, juice, fill):
        reason = "x" * 150
        services.begin_recall(venue=venue, lots=[juice], reason=reason, by=by)
        fill.refresh_from_db()
        assert fill.state_reason == f"Recall 1: {reason}"

    def test_begins_with_the_tasks_and_says_whose_word_they_are(self, venue, by, juice):
        tasks = begun(venue, by, juice).tasks
        assert tasks.filter(source="Regulation (EC) No 178/2002, Art. 19(1), 19(3)").count() == 1
        assert begun(venue, by, juice, is_drill=True).tasks.count() < tasks.count()


class TestLookingForAPiece:
    def test_discarded_takes_it_out_of_its_keg(self, venue, by, juice, fill):
        recall = begun(venue, by, juice)
        found(recall.items.get(fill=fill), by, amount_found=Decimal(4000), disposition="discarded")
        fill.refresh_from_db()
        assert (fill.state, fill.state_reason) == (
            Fill.State.DISCARDED,
            "Recall 1: discarded",
        )

    def test_returned_takes_it_out_of_stock(self, venue, by, juice):
        recall = begun(venue, by, juice)
        found(recall.items.get(lot=juice), by, disposition="returned")
        juice.refresh_from_db()
        assert juice.status_reason == "Recall 1: returned to the supplier"

    def test_a_drill_never_takes_anything_out(self, venue, by, juice, fill):
        drill = begun(venue, by, juice, is_drill=True)
        item = found(drill.items.get(fill=fill), by, disposition="discarded")
        fill.refresh_from_db()
        assert (fill.state, item.disposition) == (Fill.State.IN_KEG, "")

    def test_a_second_word_keeps_the_first_in_the_ledger(self, venue, by, juice):
        item = begun(venue, by, juice).items.get(lot=juice)
        services.settle_item(item=item, found=False, note="Not in the walk-in", by=by)
        again = found(item, by)
        assert (again.outcome, again.amount_found) == ("found", item.amount)
        assert verify_chain(Chain.objects.get(pk=venue.chain_id)).broken is None
        assert list(verify_records()) == []

    @pytest.mark.parametrize(
        ("said", "sentence"),
        [
            ({"amount_found": None}, "Say how much is there"),
            ({"amount_found": Decimal(-1)}, "Say how much is there"),
            ({"amount_found": Decimal(10) ** 8}, "more than the records say"),
            ({"disposition": ""}, "Say what became of it"),
        ],
    )
    def test_half_a_word_is_refused(self, venue, by, juice, said, sentence):
        item = begun(venue, by, juice).items.get(lot=juice)
        with pytest.raises(ValidationError, match=sentence):
            found(item, by, **said)

    def test_not_found_wants_to_know_where_somebody_looked(self, venue, by, juice):
        item = begun(venue, by, juice).items.get(lot=juice)
        with pytest.raises(ValidationError, match="where you looked"):
            services.settle_item(item=item, found=False, by=by)


class TestLookingAgain:
    def test_takes_up_and_holds_what_was_recorded_late(self, venue, by, juice, fill):
        recall = begun(venue, by, juice)
        stock.release_lot(lot=juice, reason="To record the draw", by=by)
        late = a_fill(venue, batch=a_batch(venue, juice))
        assert services.look_again(recall=recall, by=by) == 1
        late.refresh_from_db()
        assert late.state == Fill.State.ON_HOLD
        assert services.look_again(recall=recall, by=by) == 0


class TestClosing:
    def settle_all(self, recall, by):
        for item in recall.items.filter(outcome="waiting"):
            found(item, by)

    def test_waits_for_each_piece(self, venue, by, juice, fill):
        recall = begun(venue, by, juice)
        with pytest.raises(ValidationError, match="Still to be looked for"):
            services.close_recall(recall=recall, note="Done", by=by)

    def test_leaves_on_hold_what_nobody_released(self, venue, by, juice, fill):
        recall = begun(venue, by, juice)
        self.settle_all(recall, by)
        closed = services.close_recall(recall=recall, note="All back", by=by)
        fill.refresh_from_db()
        assert (closed.is_open, fill.state) == (False, Fill.State.ON_HOLD)

    def test_releases_what_it_held_itself_and_no_more(self, venue, by, juice, cordial, fill):
        batches.hold_fill(fill=fill, reason="Sour", by=by)
        recall = begun(venue, by, juice)
        self.settle_all(recall, by)
        services.close_recall(recall=recall, note="False alarm", release=True, by=by)
        cordial.refresh_from_db()
        fill.refresh_from_db()
        assert (cordial.status, fill.state) == (Lot.Status.ACCEPTED, Fill.State.ON_HOLD)

    def test_nothing_more_happens_to_a_closed_one(self, venue, by, juice):
        recall = begun(venue, by, juice)
        self.settle_all(recall, by)
        recall = services.close_recall(recall=recall, note="Done", by=by)
        item, task = recall.items.first(), recall.tasks.first()
        for act in (
            lambda: found(item, by),
            lambda: services.look_again(recall=recall, by=by),
            lambda: services.add_task(recall=recall, what="More", by=by),
            lambda: services.finish_task(task=task, by=by),
            lambda: services.close_recall(recall=recall, note="Again", by=by),
        ):
            with pytest.raises(ValidationError, match="is closed"):
                act()

    def test_a_task_done_twice_keeps_the_first_name(self, venue, by, juice):
        task = begun(venue, by, juice).tasks.first()
        services.finish_task(task=task, note="Rang them", by=by)
        again = services.finish_task(task=task, by=a_recorder(venue, "noor"))
        assert (again.done_by, again.note) == ("mara", "Rang them")


def test_a_recall_of_what_went_into_nothing_lists_the_lot_alone(venue, by, juice):
    recall = begun(venue, by, juice)
    assert [str(item) for item in RecallItem.objects.filter(recall=recall)] == [str(juice)]
