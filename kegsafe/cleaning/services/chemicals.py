"""The list of cleaning chemicals and the batches in the cupboard."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.db import transaction
from django.utils import timezone

from kegsafe.cleaning.models import Chemical, ChemicalBatch, DataSheet
from kegsafe.frame.documents import NewDocument, facts_of, written
from kegsafe.ledger.models import Entry
from kegsafe.ledger.services import Recorder, amend, create
from kegsafe.venues.models import Venue


@transaction.atomic
def add_chemical(
    *, venue: Venue, name: str, chemistry: str, by: Recorder, **label: Any
) -> Chemical:
    """Put a product on the list, with what its label says; what is left out is not recorded."""
    chemical = Chemical(venue=venue, name=name.strip(), chemistry=chemistry, **label)
    create(chemical, by=by, action="put on the list")
    return chemical


@transaction.atomic
def amend_chemical(
    *,
    chemical: Chemical,
    changes: Mapping[str, Any],
    reason: str,
    by: Recorder,
    seen_sequence: int | None = None,
) -> Entry | None:
    """Change what is on record of a product. Cycles that were closed keep their verdict."""
    return amend(chemical, changes, by=by, reason=reason, seen_sequence=seen_sequence)


@transaction.atomic
def add_batch(
    *,
    chemical: Chemical,
    batch: str,
    expires_on: date | None,
    does_not_expire: bool = False,
    by: Recorder,
) -> ChemicalBatch:
    """Put a batch of a product into the cupboard."""
    new = ChemicalBatch(
        chemical=chemical,
        batch=batch.strip(),
        expires_on=expires_on,
        does_not_expire=does_not_expire,
    )
    create(new, by=by, action="put into the cupboard")
    return new


@transaction.atomic
def amend_batch(
    *,
    batch: ChemicalBatch,
    changes: Mapping[str, Any],
    reason: str,
    by: Recorder,
    seen_sequence: int | None = None,
) -> Entry | None:
    """Change what is on record of a batch, such as that it is used up."""
    return amend(batch, changes, by=by, reason=reason, seen_sequence=seen_sequence)


@transaction.atomic
def keep_data_sheet(
    *, chemical: Chemical, sent: NewDocument, revised_on: date | None = None, by: Recorder
) -> DataSheet:
    """Keep a product's safety data sheet. A newer one takes the place of the last; both stay.

    Raises ValidationError for what is no PDF, PNG or JPEG by its content or is too large; then
    nothing is stored.
    """
    sheet = DataSheet(
        chemical=chemical,
        revised_on=revised_on,
        sent_by=by.person,
        sent_at=timezone.now(),
        **facts_of(sent),
    )
    sheet.full_clean()
    with written(sheet, sent.content):
        create(sheet, by=by, action="data sheet kept")
    return sheet
