"""What a batch declares, for its page."""

from kegsafe.batches.facts import allergens_of
from kegsafe.batches.models import Batch
from kegsafe.batches.queries import behind_batches
from kegsafe.rules.allergens import Declaration, SulphiteAmount, declare
from kegsafe.rules.date_marking import day_one


def declaration_of_batch(batch: Batch) -> tuple[Declaration, tuple[str, ...]]:
    """Return a batch's declaration as served, and the ingredients not known whole: two queries."""
    behind = behind_batches([batch.pk])[batch.pk]
    facts, not_known = allergens_of(behind.served)
    so2 = SulphiteAmount(batch.total_so2_mg_per_l)
    made_on = day_one(batch.made_at, batch.venue.zone, batch.business_date)
    return declare(facts, batch.venue.code.allergen_regime, so2, made_on), not_known
