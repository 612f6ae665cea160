"""Into the keg, onto the tap, held, released, emptied, discarded."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from kegsafe.batches import services
from kegsafe.batches.models import Batch, Fill
from kegsafe.cleaning.models import CleaningRecord
from kegsafe.cleaning.queries import history_of
from kegsafe.equipment.models import Metal, Placement, Use
from kegsafe.ledger.queries import history
from kegsafe.stock import services as stock
from tests.builders import (
    a_batch,
    a_clean,
    a_fill,
    a_keg,
    a_line,
    a_lot,
    a_place,
    a_recipe,
    a_tap,
    a_tapping,
    an_ingredient,
)


def refused(error: pytest.ExceptionInfo) -> str:
    return " ".join(error.value.messages)


def an_almond_drink(venue, name="Almond Drift", **facts) -> Batch:
    orgeat = an_ingredient(venue, name="Orgeat", allergens={"almond": ("contains", "")})
    return a_batch(
        venue, a_lot(venue, ingredient=orgeat), recipe=a_recipe(venue, name=name), **facts
    )


class TestFilling:
    def test_a_fill_keeps_what_the_rules_said_of_it(self, venue):
        fill = a_fill(venue, batch=an_almond_drink(venue))
        assert fill.use_by_at is not None
        assert fill.declaration["contains"]
        assert {"rule", "severity", "statement", "source"} <= set(fill.findings[0])
        assert fill.ready_from == fill.filled_at + timedelta(hours=24)

    def test_the_keg_remembers_the_drink_and_its_allergens(self, venue):
        fill = a_fill(venue, batch=an_almond_drink(venue))
        use = Use.objects.get(keg=fill.keg, ended_at=None)
        assert (use.drink, use.allergens) == ("Almond Drift", ["almond"])

    def test_the_keg_stands_where_it_was_put(self, venue):
        place = a_place(venue)
        fill = a_fill(venue, place=place)
        assert Placement.objects.get(keg=fill.keg, ended_at=None).place == place

    def test_the_batch_holds_that_much_less(self, venue):
        batch = a_batch(venue, volume_ml=Decimal(20_000))
        a_fill(venue, batch=batch, volume_ml=Decimal(18_000))
        batch.refresh_from_db()
        assert batch.filled_ml == 18_000
        with pytest.raises(ValidationError) as error:
            a_fill(venue, batch=batch, volume_ml=Decimal(2001))
        assert "is more than is left of the batch: 2 L" in refused(error)

    def test_every_reason_against_it_is_given_at_once(self, venue):
        keg = a_keg(venue, rated_gauge_pa=Decimal(100_000), metal=Metal.BRASS)
        with pytest.raises(ValidationError) as error:
            a_fill(venue, keg=keg, volume_ml=Decimal(18_500), batch=_a_large_batch(venue))
        assert "above the rated" in refused(error)
        assert "No cleaning of" in refused(error)
        assert "head space" in refused(error)
        assert "Brass" in refused(error)
        assert Fill.objects.count() == 0

    def test_a_keg_without_a_rating_is_not_put_under_pressure(self, venue):
        keg = a_keg(venue, rated_gauge_pa=None)
        a_clean(venue, keg)
        with pytest.raises(ValidationError) as error:
            a_fill(venue, keg=keg)
        assert "No rated pressure is on record" in refused(error)

    def test_a_full_keg_takes_no_second_drink(self, venue):
        fill = a_fill(venue)
        with pytest.raises(ValidationError) as error:
            a_fill(venue, keg=fill.keg)
        assert "still holds a drink" in refused(error)

    def test_a_lot_put_on_hold_after_the_mixing_holds_the_batch(self, venue, by):
        lot = a_lot(venue)
        batch = a_batch(venue, lot)
        stock.hold_lot(lot=lot, reason="recall notice", by=by)
        with pytest.raises(ValidationError) as error:
            a_fill(venue, batch=batch)
        assert "recall notice" in refused(error)

    def test_a_batch_past_its_date_is_not_filled(self, venue, by):
        """Nine days after the mixing: FDA Food Code 3-501.17, seven days."""
        long_ago = timezone.now() - timedelta(days=9)
        recipe = a_recipe(venue, measured_ph=None, measured_on=None)
        lot = a_lot(venue, received_at=long_ago - timedelta(hours=1))
        batch = a_batch(venue, lot, recipe=recipe, made_at=long_ago)
        with pytest.raises(ValidationError) as error:
            a_fill(venue, batch=batch)
        assert "may not be filled after that" in refused(error)

    def test_filling_before_the_making_is_refused(self, venue):
        batch = a_batch(venue)
        with pytest.raises(ValidationError) as error:
            a_fill(venue, batch=batch, filled_at=batch.made_at - timedelta(minutes=1))
        assert "The batch was made" in refused(error)

    def test_a_measurement_of_the_batch_goes_before_that_of_the_recipe(self, venue):
        batch = a_batch(venue, measured_ph=Decimal("6.2"))
        assert a_fill(venue, batch=batch).is_tcs
        assert not a_fill(venue).is_tcs


def _a_large_batch(venue) -> Batch:
    return a_batch(venue, volume_ml=Decimal(40_000))


class TestLeftByTheLastDrink:
    def a_keg_that_held_almond(self, venue, by, **clean):
        fill = a_fill(venue, batch=an_almond_drink(venue))
        services.empty_fill(fill=fill, by=by)
        a_clean(venue, fill.keg, **clean)
        return fill.keg

    def test_it_must_be_signed_for(self, venue, by):
        keg = self.a_keg_that_held_almond(venue, by, is_allergen_clean=False)
        with pytest.raises(ValidationError) as error:
            a_fill(venue, keg=keg)
        assert "left almond" in refused(error)

    def test_signed_for_it_is_declared_and_named(self, venue, by):
        keg = self.a_keg_that_held_almond(venue, by, is_allergen_clean=False)
        fill = a_fill(venue, keg=keg, accept_cross_contact=True)
        assert fill.cross_contact_accepted == ["almond"]
        assert "May contain: Almond" in fill.declaration["statement"]

    def test_it_goes_on_through_the_next_drink_as_well(self, venue, by):
        keg = self.a_keg_that_held_almond(venue, by, is_allergen_clean=False)
        fill = a_fill(venue, keg=keg, accept_cross_contact=True)
        services.empty_fill(fill=fill, by=by)
        assert history_of(keg=keg).residue == {"almond"}

    def test_a_verified_allergen_clean_ends_it(self, venue, by):
        keg = self.a_keg_that_held_almond(venue, by)
        assert a_fill(venue, keg=keg).declaration["may_contain"] == []

    def test_an_allergen_clean_nobody_verified_ends_nothing(self, venue, by):
        unverified = CleaningRecord.Verification.NONE
        keg = self.a_keg_that_held_almond(venue, by, verification=unverified)
        with pytest.raises(ValidationError):
            a_fill(venue, keg=keg)

    def test_a_signature_with_nothing_to_sign_for_signs_nothing(self, venue):
        assert a_fill(venue, accept_cross_contact=True).cross_contact_accepted == []


class TestTapping:
    def test_the_line_remembers_the_drink(self, venue):
        tapping = a_tapping(venue, fill=a_fill(venue, batch=an_almond_drink(venue)))
        use = Use.objects.get(line=tapping.tap.line, ended_at=None)
        assert (use.drink, use.allergens) == ("Almond Drift", ["almond"])

    def test_an_unclean_line_must_be_signed_for(self, venue, by):
        tap, fill = a_tap(venue), a_fill(venue)
        with pytest.raises(ValidationError) as error:
            a_tapping(venue, fill=fill, tap=tap)
        assert "No cleaning of Line" in refused(error)
        now = timezone.now()
        assert services.tap_keg(fill=fill, tap=tap, at=now, accept_line=True, by=by).pk

    def test_a_line_not_cleaned_since_the_last_keg_is_asked_about(self, venue, by):
        tapping = a_tapping(venue)
        services.untap(tapping=tapping, at=timezone.now(), by=by)
        with pytest.raises(ValidationError) as error:
            a_tapping(venue, tap=tapping.tap)
        assert "was not cleaned after it carried" in refused(error)

    def test_brass_in_the_line_stops_an_acid_drink(self, venue):
        tap = a_tap(venue, line=a_line(venue, metal=Metal.BRASS))
        a_clean(venue, tap.line)
        with pytest.raises(ValidationError) as error:
            a_tapping(venue, tap=tap)
        assert "Brass" in refused(error)

    def test_a_line_carries_one_keg_at_a_time(self, venue):
        tapping = a_tapping(venue)
        with pytest.raises(ValidationError) as error:
            a_tapping(venue, tap=tapping.tap)
        assert "take that off first" in refused(error)

    def test_a_keg_goes_on_one_tap_at_a_time(self, venue):
        tapping = a_tapping(venue)
        with pytest.raises(ValidationError) as error:
            a_tapping(venue, fill=tapping.fill)
        assert "already on a tap" in refused(error)

    def test_a_keg_on_hold_is_not_tapped(self, venue, by):
        fill = services.hold_fill(fill=a_fill(venue), reason="smells odd", by=by)
        with pytest.raises(ValidationError) as error:
            a_tapping(venue, fill=fill)
        assert "on hold: smells odd" in refused(error)


class TestEnding:
    @pytest.mark.parametrize("end", [services.empty_fill, services.discard_fill])
    def test_it_comes_off_its_tap_and_out_of_the_memory_of_keg_and_line(self, venue, by, end):
        tapping = a_tapping(venue)
        end(fill=tapping.fill, reason="flat", by=by)
        tapping.refresh_from_db()
        assert tapping.ended_at is not None
        assert not Use.objects.filter(ended_at=None).exists()

    def test_a_discard_needs_a_reason(self, venue, by):
        with pytest.raises(ValidationError, match="Say why"):
            services.discard_fill(fill=a_fill(venue), reason=" ", by=by)

    def test_what_has_ended_does_not_end_again(self, venue, by):
        fill = services.empty_fill(fill=a_fill(venue), by=by)
        with pytest.raises(ValidationError, match="was emptied already"):
            services.discard_fill(fill=fill, reason="flat", by=by)

    def test_hold_and_release_keep_their_reasons(self, venue, by):
        fill = a_fill(venue)
        services.hold_fill(fill=fill, reason="smells odd", by=by)
        services.release_fill(fill=fill, reason="coupler was dirty", by=by)
        reasons = [event.reason for event in history(fill)]
        assert reasons[:2] == ["coupler was dirty", "smells odd"]
        assert Fill.objects.get(pk=fill.pk).state == Fill.State.IN_KEG

    def test_only_what_is_held_is_released(self, venue, by):
        with pytest.raises(ValidationError, match="nothing to release"):
            services.release_fill(fill=a_fill(venue), reason="x", by=by)
