"""Making and revoking the private addresses of the calendar feed."""

from django.db import transaction
from django.utils import timezone

from kegsafe.cleaning.models import FeedAddress
from kegsafe.frame.tokens import new_token, token_hash
from kegsafe.ledger.services import Recorder, create, record, take_turn
from kegsafe.venues.models import Venue


@transaction.atomic
def make_feed_address(*, venue: Venue, name: str, by: Recorder) -> tuple[FeedAddress, str]:
    """Make an address; return it with its secret, which is shown once and never kept."""
    token = new_token()
    address = FeedAddress(
        venue=venue,
        name=name.strip(),
        token_hash=token_hash(token),
        made_by=by.person,
        made_at=timezone.now(),
    )
    create(address, by=by, action="calendar address made")
    return address, token


@transaction.atomic
def revoke_feed_address(*, address: FeedAddress, by: Recorder) -> FeedAddress:
    """End an address for good: whoever follows it gets no more."""
    take_turn(by)
    locked = FeedAddress.objects.select_for_update().get(pk=address.pk)
    if locked.revoked_at is None:
        locked.revoked_at = timezone.now()
        locked.full_clean()
        locked.save()
        record(locked, by=by, action="calendar address revoked")
    return locked
