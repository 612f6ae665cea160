"""A small pack, really made: drawn, signed and kept."""

from datetime import timedelta
from decimal import Decimal

from django.utils import timezone

from kegsafe.inspection import storage
from kegsafe.inspection.making import Wanted, make
from kegsafe.inspection.models import InspectionPack
from kegsafe.venues.models import Venue
from tests.builders import a_batch, a_clean, a_fill, a_keg, a_lot, a_recorder


def a_pack(venue: Venue, *, sections: tuple[str, ...] = ("fills", "cleaning")) -> InspectionPack:
    """Fill two kegs and return the pack of the last week."""
    lot, now = a_lot(venue), timezone.now()
    for _ in range(2):
        batch = a_batch(venue, lot, drawn=Decimal(50), made_at=now - timedelta(minutes=9))
        keg = a_keg(venue)
        a_clean(venue, keg, cleaned_at=now - timedelta(minutes=8))
        a_fill(venue, batch=batch, keg=keg, filled_at=now - timedelta(minutes=5))
    today = venue.local(now).date()
    wanted = Wanted(
        venue=venue,
        first=today - timedelta(days=6),
        last=today,
        sections=sections,
        paper="a4",
        by=a_recorder(venue),
    )
    return make(wanted)


def bytes_of(pack: InspectionPack) -> bytes:
    """Return the PDF as it is kept."""
    return storage.path_of(pack, storage.PDF).read_bytes()
