"""What people of the scenario do with lots, batches and kegs."""

from collections.abc import Callable, Mapping
from datetime import datetime
from decimal import Decimal

from kegsafe.batches import services as batches
from kegsafe.demo.desk import Desk, measured, read_as
from kegsafe.demo.scenario import Table
from kegsafe.equipment import services as equipment
from kegsafe.ledger.services import Recorder
from kegsafe.quantities import Kind
from kegsafe.stock import services as stock
from kegsafe.stock.models import Lot, Measure


def receive(
    desk: Desk, at: datetime, by: Recorder, *, supplier: str, document: str, lots: list[Table]
) -> None:
    """Take in a delivery; each lot gets the name it goes by in the scenario."""
    delivery = stock.receive_delivery(
        venue=desk.venue,
        supplier=desk.get("supplier", supplier),
        received_at=at,
        document=document,
        lots=[_new_lot(desk, lot) for lot in lots],
        by=by,
    )
    for named, received in zip(lots, delivery.lots.order_by("pk"), strict=True):
        desk.keep("lot", named["lot"], received)


def prepare(
    desk: Desk,
    at: datetime,
    by: Recorder,
    *,
    lot: str,
    of: str,
    draws: Mapping[str, str],
    amount: str,
    place: str,
    method: str,
) -> None:
    """Make a lot of something made in house."""
    ingredient = desk.get("ingredient", of)
    made = batches.make_preparation(
        venue=desk.venue,
        ingredient=ingredient,
        began_at=at,
        draws=_draws(desk, draws),
        amount=measured(amount, ingredient.measure),
        amount_typed=amount,
        place=desk.get("place", place),
        method=method,
        by=by,
    )
    desk.keep("lot", lot, made.lot)


def mix(
    desk: Desk,
    at: datetime,
    by: Recorder,
    *,
    batch: str,
    recipe: str,
    volume: str,
    draws: Mapping[str, str],
    ph: Decimal | None = None,
) -> None:
    """Make a batch."""
    made = batches.make_batch(
        venue=desk.venue,
        recipe=desk.get("recipe", recipe),
        made_at=at,
        volume_ml=measured(volume, Measure.VOLUME),
        draws=_draws(desk, draws),
        measured_ph=ph,
        by=by,
    )
    desk.keep("batch", batch, made)


def fill(
    desk: Desk,
    at: datetime,
    by: Recorder,
    *,
    keg: str,
    batch: str,
    volume: str,
    temperature: str,
    pressure: str,
    place: str,
    accept_cross_contact: bool = False,
) -> None:
    """Fill a keg and stand it somewhere."""
    filled = batches.fill_keg(
        batch=desk.get("batch", batch),
        keg=desk.get("keg", keg),
        filled_at=at,
        volume_ml=measured(volume, Measure.VOLUME),
        liquid_temperature_degc=read_as(temperature, Kind.TEMPERATURE),
        set_gauge_pa=read_as(pressure, Kind.GAUGE_PRESSURE),
        gas_cycles=3,
        accept_cross_contact=accept_cross_contact,
        place=desk.get("place", place),
        by=by,
    )
    desk.keep("fill", keg, filled)


def tap(
    desk: Desk, at: datetime, by: Recorder, *, keg: str, tap: str, accept_line: bool = False
) -> None:
    """Put what a keg holds on a tap."""
    tapping = batches.tap_keg(
        fill=desk.get("fill", keg),
        tap=desk.get("tap", tap),
        at=at,
        accept_line=accept_line,
        by=by,
    )
    desk.keep("tapping", keg, tapping)


def take_off_tap(desk: Desk, at: datetime, by: Recorder, *, keg: str) -> None:
    batches.untap(tapping=desk.get("tapping", keg), at=at, by=by)


def empty(desk: Desk, at: datetime, by: Recorder, *, keg: str) -> None:
    """Record a keg poured to the end; it comes off its tap."""
    batches.empty_fill(fill=desk.get("fill", keg), at=at, by=by)


def discard(desk: Desk, at: datetime, by: Recorder, *, keg: str, reason: str) -> None:
    batches.discard_fill(fill=desk.get("fill", keg), at=at, reason=reason, by=by)


def hold(desk: Desk, at: datetime, by: Recorder, *, keg: str, reason: str) -> None:
    """Put what a keg holds on hold; it counts from now."""
    batches.hold_fill(fill=desk.get("fill", keg), reason=reason, by=by)


def hold_lot(desk: Desk, at: datetime, by: Recorder, *, lot: str, reason: str) -> None:
    stock.hold_lot(lot=desk.get("lot", lot), reason=reason, by=by)


def withdraw(
    desk: Desk, at: datetime, by: Recorder, *, keg: str, service: str, reason: str
) -> None:
    """Take a keg out of use."""
    equipment.set_service(desk.get("keg", keg), service=service, reason=reason, by=by)


DRINKS: Mapping[str, Callable[..., None]] = {
    "receive": receive,
    "prepare": prepare,
    "mix": mix,
    "fill": fill,
    "tap": tap,
    "take off tap": take_off_tap,
    "empty": empty,
    "discard": discard,
    "hold": hold,
    "hold lot": hold_lot,
    "withdraw": withdraw,
}


def _draws(desk: Desk, draws: Mapping[str, str]) -> list[tuple[Lot, Decimal, str]]:
    lots = {name: desk.get("lot", name) for name in draws}
    return [
        (lots[name], measured(typed, lots[name].measure), typed) for name, typed in draws.items()
    ]


def _new_lot(desk: Desk, written: Table) -> stock.NewLot:
    ingredient = desk.get("ingredient", written["of"])
    kind = next((kind for kind in ("use_by", "best_before") if kind in written), "none")
    return stock.NewLot(
        ingredient=ingredient,
        amount=measured(written["amount"], ingredient.measure),
        amount_typed=written["amount"],
        supplier_lot_code=written.get("code", ""),
        date_kind=kind,
        date_on=desk.moments.day(written[kind]) if kind in written else None,
        arrival_temperature_degc=read_as(written.get("arrived_at"), Kind.TEMPERATURE),
        place=desk.get("place", written["place"]),
        rejected_because=written.get("rejected_because", ""),
    )
