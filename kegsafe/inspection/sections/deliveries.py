"""Every lot that came in during the period, from whom, and who the suppliers are."""

from collections.abc import Iterator

from django.db.models import QuerySet

from kegsafe.inspection.blocks import (
    Block,
    Bold,
    Column,
    Figure,
    Heading,
    Row,
    Rows,
    Scope,
    Section,
    Words,
)
from kegsafe.rules.degrees import degrees
from kegsafe.rules.moments import on_day
from kegsafe.stock.models import Delivery, Lot
from kegsafe.stock.queries import suppliers

_LOTS = (
    Column("Received", 31),
    Column("Supplier", 32),
    Column("Document", 20),
    Column("Ingredient", 34),
    Column("Our lot", 22),
    Column("Supplier's lot", 24),
    Column("Amount", 18),
    Column("Date on it", 30),
    Column("On arrival", 28),
    Column("State", 26),
    Column("By", 16),
)
_SUPPLIERS = (
    Column("Supplier", 50),
    Column("Contact", 50),
    Column("Address", 70),
    Column("Last delivery", 30),
    Column("On the list", 18),
)


def _blocks(scope: Scope) -> Iterator[Block]:
    yield Words(("Every lot of every delivery received in the period, rejected ones too.",))
    yield Rows("deliveries", _LOTS, _lot_rows(scope), "Nothing was received in this period.")
    yield Heading("Suppliers")
    yield Rows("suppliers", _SUPPLIERS, _supplier_rows(scope), "No supplier is on the list.")


def _lots(scope: Scope) -> QuerySet[Lot]:
    in_period = {
        "delivery__received_at__gte": scope.from_at,
        "delivery__received_at__lt": scope.until_at,
    }
    found = Lot.objects.filter(venue=scope.venue, **in_period)
    return found.select_related("ingredient", "delivery__supplier")


def _lot_rows(scope: Scope) -> Iterator[Row]:
    found = _lots(scope).order_by("delivery__received_at", "delivery_id", "pk")
    for lot in found.iterator(chunk_size=500):
        delivery = lot.delivery
        arrival = lot.arrival_temperature_degc
        reason = f": {lot.status_reason}" if lot.status_reason else ""
        state = f"{lot.get_status_display()}{reason}"
        yield Row(
            (
                scope.short(delivery.received_at),
                delivery.supplier.name,
                delivery.document,
                lot.ingredient.name,
                lot.code,
                lot.supplier_lot_code or "not recorded",
                lot.amount_typed or f"{lot.amount_received.normalize():f} {lot.measure}",
                _dated(lot),
                "not recorded" if arrival is None else degrees(arrival),
                state if lot.status == Lot.Status.ACCEPTED else Bold(state),
                delivery.received_by,
            ),
            subjects=(lot.ledger_subject, delivery.ledger_subject),
        )


def _dated(lot: Lot) -> str:
    if lot.date_on is None:
        return lot.get_date_kind_display()
    return f"{lot.get_date_kind_display()} {on_day(lot.date_on)}"


def _supplier_rows(scope: Scope) -> Iterator[Row]:
    for supplier in suppliers(scope.venue):
        last = supplier.last_delivery_at
        yield Row(
            (
                supplier.name,
                supplier.contact or "not recorded",
                supplier.address or "not recorded",
                scope.short(last) if last else "none on record",
                "yes" if supplier.is_active else "no",
            ),
            subjects=(supplier.ledger_subject,),
        )


def _figures(scope: Scope) -> Iterator[Figure]:
    in_period = {"received_at__gte": scope.from_at, "received_at__lt": scope.until_at}
    deliveries = Delivery.objects.filter(venue=scope.venue, **in_period).count()
    yield Figure("Deliveries", str(deliveries))
    yield Figure("Lots received", str(_lots(scope).count()))
    rejected = _lots(scope).filter(status=Lot.Status.REJECTED).count()
    yield Figure("Of these rejected on arrival", str(rejected))


SECTION = Section("deliveries", "Deliveries and suppliers", _blocks, _figures, across=True)
