"""What is kept of a look at the records: a self-check, and a walk along the chain."""

from collections import Counter
from datetime import datetime

from django.db import transaction

from kegsafe.ledger.models import Chain
from kegsafe.ledger.services import Recorder, create, take_turn
from kegsafe.ledger.verification import verify_chain
from kegsafe.readiness.models import ChainWalk, SelfCheck
from kegsafe.readiness.queries import gaps
from kegsafe.rules.readiness_clauses import Weight
from kegsafe.venues.models import Venue


@transaction.atomic
def record_self_check(*, venue: Venue, at: datetime, by: Recorder) -> SelfCheck:
    """Keep what an inspector would find at a moment, as the records say it now."""
    take_turn(by)
    found = gaps(venue, at)
    weighs = Counter(gap.weight for gap in found)
    check = SelfCheck(
        venue=venue,
        checked_at=at,
        code_key=venue.code_key,
        found=[gap.as_json() for gap in found],
        recorded_by=by.person,
        **{weight.value: weighs[weight] for weight in Weight},
    )
    create(check, by=by, action="self-check")
    return check


@transaction.atomic
def walk_chain(*, venue: Venue, at: datetime, by: Recorder) -> ChainWalk:
    """Walk the venue's chain from its first entry, and keep what was found.

    Whoever records at the same time waits: an entry that comes while the chain is walked would
    look like one that nobody can follow. A hundred thousand entries take a fraction of a second.
    """
    take_turn(by)
    verdict = verify_chain(Chain.objects.get(pk=venue.chain_id))
    broken = verdict.broken
    walk = ChainWalk(
        venue=venue,
        walked_at=at,
        entries=verdict.entries,
        head_hash=verdict.head_hash,
        fault_at=broken.sequence if broken else None,
        fault=broken.what if broken else "",
        recorded_by=by.person,
    )
    create(walk, by=by, action="verified")
    return walk
