"""Lots in, one lot out: dates, allergens, strength and amounts through any depth."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from kegsafe.batches import services
from kegsafe.batches.facts import allergens_of
from kegsafe.batches.lot_choices import judged, lot_choices, propose
from kegsafe.batches.models import Batch
from kegsafe.ledger.queries import history
from kegsafe.stock import services as stock
from kegsafe.stock.lots_behind import behind_lots
from kegsafe.stock.models import Lot
from tests.builders import a_batch, a_lot, a_preparation, an_ingredient


def made_in_house(venue, name, **facts):
    return an_ingredient(venue, name=name, made_in_house=True, allergen_list_basis="", **facts)


def fresh(lot: Lot) -> Lot:
    return Lot.objects.select_related("ingredient").get(pk=lot.pk)


def refused(error: pytest.ExceptionInfo) -> str:
    return " ".join(error.value.messages)


class TestMaking:
    def test_a_preparation_becomes_a_lot_in_stock(self, venue):
        gin = a_lot(venue, amount=Decimal(1000))
        made = a_preparation(venue, gin, amount=Decimal(900), drawn=Decimal(1000))
        assert made.lot.amount_left == 900
        assert made.lot.came_into_being_at == made.began_at
        assert fresh(gin).amount_left == 0

    def test_it_carries_its_strength_by_mass_balance(self, venue):
        gin = an_ingredient(venue, abv_percent=Decimal(40), total_so2_mg_per_l=Decimal(0),
                            sugar_brix=Decimal(0))  # fmt: skip
        made = a_preparation(venue, a_lot(venue, ingredient=gin), drawn=Decimal(1000))
        assert made.lot.abv_percent == Decimal("40.00")
        assert made.lot.total_so2_mg_per_l == 0

    def test_strength_goes_on_through_a_second_preparation(self, venue):
        gin = an_ingredient(venue, abv_percent=Decimal(40), sugar_brix=Decimal(0))
        first = a_preparation(venue, a_lot(venue, ingredient=gin), drawn=Decimal(500))
        second = a_preparation(venue, first.lot, amount=Decimal(200), drawn=Decimal(200))
        assert (
            first.lot.abv_percent
            == second.lot.abv_percent
            == pytest.approx(Decimal(20), abs=Decimal("0.2"))
        )

    def test_juice_of_whole_fruit_leaves_a_drink_with_its_so2_known(self, venue):
        stated = {"abv_percent": Decimal(0), "total_so2_mg_per_l": Decimal(0)}
        limes = an_ingredient(
            venue, name="Limes", measure="each", category="whole_produce", **stated
        )
        gin = an_ingredient(venue, **stated | {"abv_percent": Decimal(40)})
        juice = a_preparation(venue, a_lot(venue, ingredient=limes), drawn=Decimal(40))
        drink = a_batch(venue, juice.lot, a_lot(venue, ingredient=gin))
        assert (juice.lot.abv_percent, juice.lot.total_so2_mg_per_l) == (0, 0)
        assert drink.total_so2_mg_per_l == 0
        assert drink.abv_percent is not None

    def test_what_is_not_known_of_a_part_is_not_known_of_the_whole(self, venue):
        made = a_preparation(venue, a_lot(venue))
        assert made.lot.abv_percent is None
        assert made.lot.total_so2_mg_per_l is None

    def test_a_bought_ingredient_is_not_made(self, venue):
        with pytest.raises(ValidationError) as error:
            a_preparation(venue, ingredient=an_ingredient(venue, name="Gin"))
        assert "Gin is bought in" in refused(error)

    def test_a_preparation_of_nothing_is_refused(self, venue, by):
        with pytest.raises(ValidationError, match="at least one lot"):
            services.make_preparation(
                venue=venue,
                ingredient=made_in_house(venue, "Syrup"),
                began_at=timezone.now(),
                draws=[],
                amount=Decimal(500),
                amount_typed="500 ml",
                by=by,
            )

    def test_a_refused_draw_leaves_nothing_behind(self, venue):
        good, short = a_lot(venue), a_lot(venue, amount=Decimal(50))
        with pytest.raises(ValidationError):
            a_preparation(venue, good, short, drawn=Decimal(100))
        assert fresh(good).amount_left == 1000
        assert Lot.objects.filter(preparation__isnull=False).count() == 0

    @pytest.mark.parametrize("days_before", [-1, 2])
    def test_the_working_day_is_the_day_itself_or_the_one_before(self, venue, by, days_before):
        began = timezone.now() - timedelta(minutes=1)
        day = venue.local(began).date() - timedelta(days=days_before)
        with pytest.raises(ValidationError, match="belongs to that day or to the day before"):
            services.make_preparation(
                venue=venue,
                ingredient=made_in_house(venue, "Syrup"),
                began_at=began,
                business_date=day,
                draws=[(a_lot(venue), Decimal(1), "1 ml")],
                amount=Decimal(500),
                amount_typed="500 ml",
                by=by,
            )


class TestWhatMayBeDrawn:
    def test_a_lot_past_its_date_is_refused_and_the_others_are_named(self, venue):
        cream = an_ingredient(venue, name="Cream", category="dairy")
        yesterday = venue.local(timezone.now()).date() - timedelta(days=1)
        old = a_lot(venue, ingredient=cream, use_by=yesterday)
        other = a_lot(venue, ingredient=cream)
        with pytest.raises(ValidationError) as error:
            a_batch(venue, old)
        assert "The use-by of Cream" in refused(error)
        assert other.code in refused(error)

    def test_a_preparation_from_a_lot_put_on_hold_later_is_refused(self, venue, by):
        gin = a_lot(venue)
        infusion = a_preparation(venue, gin)
        stock.hold_lot(lot=gin, reason="recall notice", by=by)
        with pytest.raises(ValidationError) as error:
            a_batch(venue, infusion.lot, drawn=Decimal(10))
        assert "is on hold: recall notice" in refused(error)
        assert Batch.objects.count() == 0

    def test_at_any_depth(self, venue, by):
        gin = a_lot(venue)
        second = a_preparation(venue, a_preparation(venue, gin).lot)
        stock.hold_lot(lot=gin, reason="recall notice", by=by)
        [choice] = judged([fresh(second.lot)], venue, timezone.now())
        assert "recall notice" in choice.why_not

    def test_what_was_thrown_away_after_use_says_nothing_of_what_was_used(self, venue, by):
        gin = a_lot(venue)
        infusion = a_preparation(venue, gin)
        stock.discard_lot(lot=gin, reason="end of the night", by=by)
        assert a_batch(venue, infusion.lot, drawn=Decimal(10)).pk

    def test_a_preparation_ends_with_the_first_of_the_lots_behind_it(self, venue):
        opened = timezone.now() - timedelta(days=4)
        cream = an_ingredient(venue, category="dairy")
        lot = a_lot(venue, ingredient=cream, received_at=opened)
        first = a_preparation(venue, lot, began_at=opened + timedelta(hours=1))
        second = a_preparation(venue, first.lot)
        [choice] = judged([fresh(second.lot)], venue, timezone.now())
        last = venue.local(choice.ends_at).date()
        assert last == venue.local(opened).date() + timedelta(days=6)

    def test_lots_are_proposed_oldest_first_and_no_more_than_they_hold(self, venue):
        gin = an_ingredient(venue, name="Gin")
        ago = timezone.now()
        newer = a_lot(venue, ingredient=gin, received_at=ago - timedelta(hours=2))
        older = a_lot(venue, ingredient=gin, received_at=ago - timedelta(days=2))
        choices = lot_choices(venue, timezone.now())
        proposed = propose(choices, gin.pk, Decimal(1700))
        assert [(each.lot.pk, amount) for each, amount in proposed] == [
            (older.pk, Decimal(1000)),
            (newer.pk, Decimal(700)),
        ]

    def test_a_lot_on_hold_is_never_proposed(self, venue, by):
        gin = an_ingredient(venue, name="Gin")
        held = a_lot(venue, ingredient=gin)
        stock.hold_lot(lot=held, reason="label missing", by=by)
        choices = lot_choices(venue, timezone.now())
        assert propose(choices, gin.pk, Decimal(10)) == []
        assert [each.why_not for each in choices] == [
            f"Gin (lot {held.code}) is on hold: label missing."
        ]


class TestCircles:
    def test_a_lot_is_not_drawn_into_itself(self, venue, by):
        made = a_preparation(venue)
        with pytest.raises(ValidationError, match="Nothing can be made of itself"):
            add(made, made.lot, by)

    def test_nor_into_a_preparation_it_came_from_at_any_depth(self, venue, by):
        first = a_preparation(venue)
        second = a_preparation(venue, first.lot)
        third = a_preparation(venue, second.lot)
        with pytest.raises(ValidationError, match="at first hand or further back"):
            add(first, third.lot, by)
        assert behind_lots([first.lot_id])[first.lot_id].isdisjoint({third.lot_id})


def add(into, lot, by, amount=Decimal(10)):
    return services.add_draw(
        into=into,
        draw_wanted=services.NewDraw(lot, amount, f"{amount} ml"),
        drawn_at=timezone.now(),
        reason="found the empty bottle",
        by=by,
    )


class TestForgottenDraws:
    def test_the_strength_of_everything_made_of_it_is_computed_again(self, venue, by):
        spirit = an_ingredient(venue, abv_percent=Decimal(40), sugar_brix=Decimal(0))
        first = a_preparation(venue, a_lot(venue, ingredient=spirit), drawn=Decimal(400))
        second = a_preparation(venue, first.lot, amount=Decimal(500), drawn=Decimal(500))
        batch = a_batch(venue, second.lot, drawn=Decimal(400), volume_ml=Decimal(400))
        before = [fresh(first.lot).abv_percent, fresh(second.lot).abv_percent, batch.abv_percent]
        add(first, a_lot(venue, ingredient=spirit), by, amount=Decimal(300))
        batch.refresh_from_db()
        after = [fresh(first.lot).abv_percent, fresh(second.lot).abv_percent, batch.abv_percent]
        assert all(new > old for new, old in zip(after, before, strict=True))

    def test_the_first_figure_stays_on_record_with_the_reason(self, venue, by):
        made = a_preparation(venue)
        before = fresh(made.lot).abv_percent
        strong = an_ingredient(venue, abv_percent=Decimal(40))
        add(made, a_lot(venue, ingredient=strong), by)
        assert before is None
        assert any("draw added" in event.action for event in history(made))

    def test_a_draw_nobody_explains_is_refused(self, venue, by):
        with pytest.raises(ValidationError, match="Say why it is recorded only now"):
            services.add_draw(
                into=a_preparation(venue),
                draw_wanted=services.NewDraw(a_lot(venue), Decimal(1), "1 ml"),
                drawn_at=timezone.now(),
                reason=" ",
                by=by,
            )


def test_a_preparation_inherits_allergens_through_its_lots(venue):
    almond = an_ingredient(venue, allergens={"almond": ("contains", "")})
    first = a_preparation(venue, a_lot(venue, ingredient=almond))
    second = a_preparation(venue, first.lot)
    behind = Lot.objects.filter(pk__in=behind_lots([second.lot_id])[second.lot_id])
    facts, _ = allergens_of(frozenset(behind.values_list("ingredient_id", flat=True)))
    assert {fact.source for fact in facts} == {"almond"}
