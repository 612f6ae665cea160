"""Suppliers: added, amended, taken out of use; never removed, as deliveries point at them."""

from collections.abc import Mapping
from typing import Any

from django.db import transaction

from kegsafe.ledger.services import Recorder, amend, create
from kegsafe.stock.models import Supplier
from kegsafe.venues.models import Venue


@transaction.atomic
def add_supplier(
    *, venue: Venue, name: str, by: Recorder, address: str = "", contact: str = ""
) -> Supplier:
    """Add a business that deliveries come from; ValidationError when the name is taken."""
    supplier = Supplier(venue=venue, name=name.strip(), address=address, contact=contact)
    create(supplier, by=by, action="added")
    return supplier


@transaction.atomic
def amend_supplier(
    *,
    supplier: Supplier,
    changes: Mapping[str, Any],
    reason: str,
    by: Recorder,
    seen_sequence: int | None = None,
) -> Supplier:
    """Change what is recorded of a supplier, or take it out of use, with the reason."""
    amend(supplier, changes, by=by, reason=reason, seen_sequence=seen_sequence)
    return supplier
