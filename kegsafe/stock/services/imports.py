"""Importing deliveries: what was looked at, no more and no less, and nothing twice."""

from collections.abc import Iterable, Sequence
from datetime import timedelta
from itertools import groupby

from django.db import transaction
from django.utils import timezone

from kegsafe.ledger.services import Recorder, take_turn
from kegsafe.stock.importing.delivery_file import rows_of, text_of
from kegsafe.stock.importing.plan import GoodRow, Plan, plan_import
from kegsafe.stock.models import Delivery, DeliveryFile, ImportedRow, Lot
from kegsafe.stock.services.deliveries import receive_delivery, receive_lots
from kegsafe.venues.models import Venue

_KEPT_FOR = timedelta(days=1)


class StalePlan(Exception):
    """The stock changed between looking at the file and importing it."""


@transaction.atomic
def keep_file(*, venue: Venue, name: str, content: bytes, by: Recorder) -> DeliveryFile:
    """Keep a file until it is looked at and imported; files of more than a day ago are let go.

    Raises UnreadableFile when it is no file of deliveries at all.
    """
    text = text_of(content)
    rows_of(text)
    old = DeliveryFile.objects.filter(venue=venue, sent_at__lt=timezone.now() - _KEPT_FOR)
    old.delete()
    return DeliveryFile.objects.create(venue=venue, name=name[:120], text=text, sent_by=by.person)


@transaction.atomic
def import_deliveries(
    *, venue: Venue, text: str, by: Recorder, file_name: str, expected: str | None = None
) -> Plan:
    """Import the good rows of a text that are not in stock yet, and return what was done.

    `expected` is the token of the plan a person looked at; StalePlan is raised
    when another thing would now happen. A second import waits for the first.
    """
    take_turn(by)
    plan = plan_import(venue, text)
    if expected is not None and plan.token != expected:
        raise StalePlan("The stock changed while you looked. Look at the rows again, then import.")
    for rows in _deliveries_of(plan.new):
        _receive(venue, rows, by, file_name)
    return plan


def _deliveries_of(rows: Iterable[GoodRow]) -> list[list[GoodRow]]:
    """Rows of one supplier, moment and document are one delivery."""

    def head(row: GoodRow) -> tuple:
        return (row.received_at, row.supplier.pk, row.document)

    return [list(group) for _, group in groupby(sorted(rows, key=head), key=head)]


def _receive(venue: Venue, rows: Sequence[GoodRow], by: Recorder, file_name: str) -> None:
    first = rows[0]
    lots = [row.lot for row in rows]
    head = {
        "supplier": first.supplier,
        "received_at": first.received_at,
        "document": first.document,
    }
    delivery = Delivery.objects.filter(venue=venue, **head).first()
    if delivery is None:
        note = f"From the file {file_name}"[:200]
        delivery = receive_delivery(venue=venue, lots=lots, by=by, note=note, **head)
        received = list(delivery.lots.order_by("pk"))
    else:
        received = receive_lots(delivery=delivery, lots=lots, by=by)
    _remember(venue, rows, received)


def _remember(venue: Venue, rows: Sequence[GoodRow], lots: Sequence[Lot]) -> None:
    ImportedRow.objects.bulk_create(
        ImportedRow(venue=venue, lot=lot, digest=row.digest, cells=dict(row.said))
        for row, lot in zip(rows, lots, strict=True)
    )
