"""What the rule of due dates is told about one item or one keg."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from typing import Any

from django.db.models import Case, Exists, OuterRef, Q, QuerySet, Subquery, Value, When

from kegsafe.equipment.models import Keg
from kegsafe.pressure.models import Check, Item, OwnInterval
from kegsafe.rules.pressure.checks import checks_of, kinds
from kegsafe.rules.pressure.due import Basis, ItemFacts
from kegsafe.rules.pressure.due import OwnInterval as OwnIntervalFact
from kegsafe.rules.pressure.regimes import regime_of
from kegsafe.venues.models import Venue

# The columns of an item that the rule reads, by the rule's own names.
DUE_COLUMNS = (
    *("cylinder_rule", "stamped_on", "has_star", "requalify_by", "marked_on", "replace_by"),
)
Owner = tuple[str, int]  # ("item" or "keg", its key)


def regime_key(venue: Venue) -> str:
    """Return whose pressure rules count at a venue, '' where its code leads to none."""
    regime = regime_of(venue.code_key)
    return regime.key if regime else ""


def item_facts(item: Item) -> ItemFacts:
    """Return what is on record of one item: two queries."""
    known = Known(item.venue, item=item.pk)
    columns = {name: getattr(item, name) for name in DUE_COLUMNS}
    return known.facts(("item", item.pk), item.kind, str(item), columns)


def keg_facts(keg: Keg) -> ItemFacts:
    """Return what is on record of one keg: two queries."""
    return Known(keg.venue, keg=keg.pk).facts(("keg", keg.pk), "keg", str(keg), {})


class Known:
    """The passed checks and own intervals of a venue, or of one thing in it: two queries."""

    def __init__(self, venue: Venue, **one: int) -> None:
        self.regime = regime_key(venue)
        self.passed = _passed(venue, one)
        self.own = _own(venue, one)

    def facts(self, owner: Owner, kind: str, name: str, columns: Mapping[str, Any]) -> ItemFacts:
        """Return the facts of one thing."""
        return ItemFacts(
            kind=kind,
            name=name,
            regime=self.regime,
            passed=self.passed.get(owner, {}),
            own=self.own.get(owner, {}),
            **columns,
        )


def open_failures(*, item: Item | None = None, keg: Keg | None = None) -> QuerySet[Check]:
    """Return the failed checks of one thing that no later check of the same kind has passed."""
    return unmended(Check.objects.filter(item=item, keg=keg))


def unmended(checks: QuerySet[Check]) -> QuerySet[Check]:
    """Keep the failed checks that no later check of the same kind and thing has passed."""
    later = Check.objects.filter(
        Q(item=OuterRef("item")) | Q(keg=OuterRef("keg")),
        Q(checked_at__gt=OuterRef("checked_at"))
        | Q(checked_at=OuterRef("checked_at"), pk__gt=OuterRef("pk")),
        check_key=OuterRef("check_key"),
        outcome=Check.Outcome.PASS,
    )
    return checks.filter(~Exists(later), outcome=Check.Outcome.FAIL)


def _passed(venue: Venue, one: Mapping[str, int]) -> dict[Owner, dict[str, date]]:
    """Return the last day each check was passed; a later failure of the same check undoes it.

    Only the newest check of each kind of each thing is looked up, so that ten years of checks
    cost what one does. Of two at one moment the passed one counts.
    """
    first, *others = _newest(venue, one)
    found: dict[Owner, dict[str, date]] = {}
    for owner, key, check, passed_at in first.union(*others, all=True):
        found.setdefault((owner, key), {})[check] = venue.local(passed_at).date()
    return found


def _newest(venue: Venue, one: Mapping[str, int]) -> Iterator[QuerySet[Any]]:
    """Yield for each check that a table of ours names when it was passed last, thing by thing.

    One row a thing, found by the index, and no list of keys for another query to be held against:
    PostgreSQL would walk such a list again for each check on record.
    """
    regime = regime_key(venue)
    kinds_of: dict[str, set[str]] = {}
    for kind in kinds():
        for rule in checks_of(kind, regime):
            kinds_of.setdefault(rule.check, set()).add(kind)
    for check, of_kinds in sorted(kinds_of.items()):
        things: tuple[tuple[str, QuerySet[Any], bool], ...] = (
            ("item", Item.objects.filter(venue=venue, kind__in=of_kinds), of_kinds != {"keg"}),
            ("keg", Keg.objects.filter(venue=venue), "keg" in of_kinds),
        )
        for owner, of_venue, has_check in things:
            if not has_check or (one and owner not in one):
                continue
            asked = of_venue.filter(pk=one[owner]) if one else of_venue
            newest = Check.objects.filter(check_key=check, **{owner: OuterRef("pk")})
            passed = newest.order_by("-checked_at", "-outcome").values(
                passed_at=Case(When(outcome=Check.Outcome.PASS, then="checked_at"))
            )
            yield (
                asked.order_by()
                .annotate(passed_at=Subquery(passed[:1]))
                .filter(passed_at__isnull=False)
                .values_list(Value(owner), "pk", Value(check), "passed_at")
            )


def _own(venue: Venue, one: Mapping[str, int]) -> dict[Owner, dict[str, OwnIntervalFact]]:
    rows: Iterable[tuple[int | None, int | None, str, int, str]] = OwnInterval.objects.filter(
        venue=venue, **one
    ).values_list("item", "keg", "check_key", "months", "basis")
    found: dict[Owner, dict[str, OwnIntervalFact]] = {}
    for item, keg, check, months, basis in rows:
        found.setdefault(_owner(item, keg), {})[check] = OwnIntervalFact(months, Basis(basis))
    return found


def _owner(item: int | None, keg: int | None) -> Owner:
    return ("item", item) if item is not None else ("keg", keg)
