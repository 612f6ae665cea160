"""A lot is received, opened, held, released, discarded: each with its reason and its entry."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from kegsafe.ledger.queries import history
from kegsafe.stock import services
from kegsafe.stock.models import Lot
from tests.builders import a_lot, a_place, a_recorder, a_supplier, a_venue, an_ingredient


def test_a_delivery_with_two_lines_brings_two_lots_under_codes_of_the_day(venue, by):
    syrup = an_ingredient(venue, name="Syrup", category="sugar_syrup")
    lines = [
        services.NewLot(ingredient=syrup, amount=Decimal(700), amount_typed="700 ml"),
        services.NewLot(ingredient=syrup, amount=Decimal(5000), amount_typed="5 L"),
    ]
    received_at = venue.local(timezone.now() - timedelta(minutes=5))
    delivery = services.receive_delivery(
        venue=venue,
        supplier=a_supplier(venue),
        received_at=received_at,
        document="DN-7",
        lots=lines,
        by=by,
    )
    codes = sorted(delivery.lots.values_list("code", flat=True))
    assert codes == [f"{received_at:%y%m%d}-01", f"{received_at:%y%m%d}-02"]


def test_the_code_after_the_ninety_ninth_lot_of_a_day_goes_on_counting(venue):
    lot = a_lot(venue)
    day = venue.local(lot.came_into_being_at).date()
    Lot.objects.filter(pk=lot.pk).update(code=f"{day:%y%m%d}-99")
    assert services.next_lot_code(venue, day) == f"{day:%y%m%d}-100"


def test_a_code_somebody_made_up_does_not_disturb_the_count(venue):
    lot = a_lot(venue)
    day = venue.local(lot.came_into_being_at).date()
    Lot.objects.filter(pk=lot.pk).update(code=f"{day:%y%m%d}-XII")
    assert services.next_lot_code(venue, day) == f"{day:%y%m%d}-01"


def test_a_delivery_of_tomorrow_is_refused(venue):
    with pytest.raises(ValidationError, match="has not come yet"):
        a_lot(venue, received_at=timezone.now() + timedelta(minutes=2))


def test_a_delivery_without_a_line_is_refused(venue, by):
    with pytest.raises(ValidationError, match="at least one line"):
        services.receive_delivery(
            venue=venue,
            supplier=a_supplier(venue),
            received_at=timezone.now(),
            document="",
            lots=[],
            by=by,
        )


def test_a_supplier_out_of_use_delivers_nothing(venue, by):
    supplier = a_supplier(venue)
    services.amend_supplier(
        supplier=supplier,
        changes={"is_active": False},
        reason="Closed down",
        by=by,
    )
    with pytest.raises(ValidationError, match="out of use"):
        a_lot(venue, supplier=supplier)


def test_an_ingredient_of_another_bar_is_never_received(venue):
    elsewhere = an_ingredient(a_venue(name="The Other Place"))
    with pytest.raises(ValueError, match="another venue"):
        a_lot(venue, ingredient=elsewhere)


def test_a_rejected_line_stays_on_record_with_its_reason(venue):
    lot = a_lot(venue, rejected_because="Arrived at 12 °C")
    assert (lot.status, lot.status_reason) == (Lot.Status.REJECTED, "Arrived at 12 °C")
    assert history(lot)[0].action == "rejected on arrival"


def test_a_lot_of_nothing_is_refused(venue):
    with pytest.raises(ValidationError, match="more than nothing"):
        a_lot(venue, amount=Decimal("0.0001"))


def test_opening_a_pack_is_recorded_once(venue, by):
    lot = a_lot(venue)
    opened_at = timezone.now() - timedelta(minutes=10)
    assert services.open_lot(lot=lot, opened_at=opened_at, by=by).opened_at == opened_at
    with pytest.raises(ValidationError, match="already opened"):
        services.open_lot(lot=lot, opened_at=timezone.now(), by=by)


def test_an_earlier_opening_found_out_later_counts(venue, by):
    lot = a_lot(venue)
    earlier = timezone.now() - timedelta(minutes=30)
    services.open_lot(lot=lot, opened_at=timezone.now() - timedelta(minutes=5), by=by)
    assert services.open_lot(lot=lot, opened_at=earlier, by=by).opened_at == earlier


def test_a_pack_is_not_opened_before_it_came_in(venue, by):
    lot = a_lot(venue)
    with pytest.raises(ValidationError, match="came in"):
        services.open_lot(lot=lot, opened_at=timezone.now() - timedelta(hours=2), by=by)


def test_a_lot_on_hold_is_released_with_a_reason_that_stays_in_the_ledger(venue, by):
    lot = a_lot(venue)
    services.hold_lot(lot=lot, reason="Cap loose", by=by)
    released = services.release_lot(lot=lot, reason="Seal was whole", by=by)
    assert (released.status, released.status_reason) == (Lot.Status.ACCEPTED, "")
    assert [(each.action, each.reason) for each in history(lot)[:2]] == [
        ("released", "Seal was whole"),
        ("put on hold", "Cap loose"),
    ]


@pytest.mark.parametrize("act", [services.hold_lot, services.discard_lot, services.reject_lot])
def test_nothing_is_taken_out_of_use_without_a_reason(venue, by, act):
    with pytest.raises(ValidationError, match="Say why"):
        act(lot=a_lot(venue), reason="  ", by=by)


def test_a_lot_is_not_held_twice(venue, by):
    lot = a_lot(venue)
    services.hold_lot(lot=lot, reason="Cap loose", by=by)
    with pytest.raises(ValidationError, match="already on hold: Cap loose"):
        services.hold_lot(lot=lot, reason="Again", by=by)


def test_only_a_lot_on_hold_can_be_released(venue, by):
    with pytest.raises(ValidationError, match="nothing to release"):
        services.release_lot(lot=a_lot(venue), reason="Looks good", by=by)


@pytest.mark.parametrize(
    "act", [services.hold_lot, services.discard_lot, services.reject_lot, services.release_lot]
)
def test_a_discarded_lot_stays_discarded(venue, by, act):
    lot = a_lot(venue)
    services.discard_lot(lot=lot, reason="Mould", by=by)
    with pytest.raises(ValidationError):
        act(lot=lot, reason="Second thoughts", by=by)
    lot.refresh_from_db()
    assert lot.status == Lot.Status.DISCARDED


def test_discarding_keeps_how_much_was_thrown_away(venue, by):
    lot = a_lot(venue, amount=Decimal(1000))
    services.draw_from_lot(lot=lot, amount=Decimal(300), drawn_at=timezone.now(), by=by)
    assert services.discard_lot(lot=lot, reason="Past it", by=by).amount_left == Decimal(700)


def test_a_lot_in_use_cannot_be_sent_back(venue, by):
    lot = a_lot(venue)
    services.draw_from_lot(lot=lot, amount=Decimal(1), drawn_at=timezone.now(), by=by)
    with pytest.raises(ValidationError, match="already in use"):
        services.reject_lot(lot=lot, reason="Wrong brand", by=by)


def test_a_lot_goes_into_the_freezer_once_and_comes_out_once(venue, by):
    lot = a_lot(venue)
    services.freeze_lot(lot=lot, frozen_at=timezone.now() - timedelta(minutes=30), by=by)
    with pytest.raises(ValidationError, match="already in the freezer"):
        services.freeze_lot(lot=lot, frozen_at=timezone.now(), by=by)
    span = services.thaw_lot(lot=lot, thawed_at=timezone.now(), by=by)
    assert span.thawed_at is not None
    with pytest.raises(ValidationError, match="not in the freezer"):
        services.thaw_lot(lot=lot, thawed_at=timezone.now(), by=by)


def test_thawing_before_freezing_is_refused(venue, by):
    lot = a_lot(venue)
    services.freeze_lot(lot=lot, frozen_at=timezone.now() - timedelta(minutes=10), by=by)
    with pytest.raises(ValidationError, match="Thawing comes after freezing"):
        services.thaw_lot(lot=lot, thawed_at=timezone.now() - timedelta(minutes=20), by=by)


def test_freezing_inside_an_earlier_frozen_span_is_refused(venue, by):
    lot = a_lot(venue)
    services.freeze_lot(lot=lot, frozen_at=timezone.now() - timedelta(minutes=50), by=by)
    services.thaw_lot(lot=lot, thawed_at=timezone.now() - timedelta(minutes=10), by=by)
    with pytest.raises(ValidationError, match="still frozen then"):
        services.freeze_lot(lot=lot, frozen_at=timezone.now() - timedelta(minutes=20), by=by)


def _amend(lot: Lot, by, **changes) -> Lot:
    values = {
        "amount": lot.amount_received,
        "amount_typed": lot.amount_typed,
        "supplier_lot_code": lot.supplier_lot_code,
        "date_kind": lot.date_kind,
        "date_on": lot.date_on,
        "place": lot.place,
        "arrival_temperature_degc": lot.arrival_temperature_degc,
        "reason": "Misread",
    }
    return services.amend_lot(lot=lot, by=by, **{**values, **changes})


def test_a_corrected_amount_moves_what_is_left_by_the_difference(venue, by):
    lot = a_lot(venue, amount=Decimal(1000))
    services.draw_from_lot(lot=lot, amount=Decimal(300), drawn_at=timezone.now(), by=by)
    _amend(lot, by, amount=Decimal(700), amount_typed="700 ml")
    lot.refresh_from_db()
    assert (lot.amount_received, lot.amount_left) == (Decimal(700), Decimal(400))


def test_an_amount_below_what_was_drawn_is_refused(venue, by):
    lot = a_lot(venue, amount=Decimal(1000))
    services.draw_from_lot(lot=lot, amount=Decimal(300), drawn_at=timezone.now(), by=by)
    with pytest.raises(ValidationError, match="already drawn"):
        _amend(lot, by, amount=Decimal(299))


def test_an_amended_date_keeps_what_it_said_first(venue, by):
    lot = a_lot(venue, use_by=date(2026, 12, 1))
    _amend(lot, by, date_on=date(2026, 11, 29))
    change = next(each for each in history(lot)[0].changes if each.field == "date on the pack")
    assert (change.first, change.new) == ("2026-12-01", "2026-11-29")


def test_an_amendment_without_a_reason_is_refused(venue, by):
    with pytest.raises(ValidationError, match="Say why"):
        _amend(a_lot(venue), by, supplier_lot_code="L9", reason="")


def test_a_made_lot_takes_the_next_code_and_carries_what_was_computed(venue, by):
    cordial = an_ingredient(venue, made_in_house=True, category="sugar_syrup")
    lot = services.make_lot(
        venue=venue,
        ingredient=cordial,
        measure=cordial.measure,
        amount=Decimal("1500.00049"),
        amount_typed="1.5 L",
        came_into_being_at=timezone.now(),
        place=a_place(venue),
        abv_percent=Decimal("1.234567"),
        total_so2_mg_per_l=None,
        sugar_g_per_l=Decimal(400),
        by=a_recorder(venue),
    )
    assert (lot.amount_left, lot.abv_percent) == (Decimal("1500.000"), Decimal("1.23"))
    assert lot.total_so2_mg_per_l is None
    assert lot.code == f"{venue.local(timezone.now()):%y%m%d}-01"
