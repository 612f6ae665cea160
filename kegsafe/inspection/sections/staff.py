"""Who stands behind the names in the record, with room for initials in ink."""

from collections.abc import Iterator

from django.db.models import Count

from kegsafe.inspection.blocks import Block, Column, Figure, Row, Rows, Scope, Section, Words
from kegsafe.ledger.models import Entry
from kegsafe.venues.models import Membership

_COLUMNS = (
    Column("Name in the record", 34),
    Column("Full name", 46),
    Column("Initials", 16),
    Column("Role", 34),
    Column("Entries in the period", 24),
    Column("Signature", 44),
)
_MICROSECONDS = 1_000_000


def _blocks(scope: Scope) -> Iterator[Block]:
    yield Words(
        (
            "Each entry of the ledger names who recorded it. Here is who that is. The last column "
            "is for ink, where somebody asks for it.",
        )
    )
    yield Rows("staff", _COLUMNS, _rows(scope), "Nobody is on the list.")


def _rows(scope: Scope) -> Iterator[Row]:
    entries = _entries_by_person(scope)
    for member in _members(scope):
        name = member.user.get_username()
        role = member.get_role_display()
        yield Row(
            (
                name,
                member.user.get_full_name() or "not recorded",
                _initials(member.user.get_full_name() or name),
                role if member.is_active else f"{role}, access ended",
                str(entries.pop(name, 0)),
                "",
            ),
            subjects=(member.ledger_subject,),
        )
    for name, count in sorted(entries.items()):
        yield Row((name, "not on the list of people", _initials(name), "", str(count), ""))


def _members(scope: Scope) -> list[Membership]:
    found = Membership.objects.filter(venue=scope.venue).select_related("user")
    return list(found.order_by("user__username"))


def _entries_by_person(scope: Scope) -> dict[str, int]:
    in_period = {
        "recorded_at_us__gte": int(scope.from_at.timestamp()) * _MICROSECONDS,
        "recorded_at_us__lt": int(scope.until_at.timestamp() * _MICROSECONDS),
        "sequence__lte": scope.chain.head_sequence,
    }
    entries = Entry.objects.filter(chain=scope.chain, **in_period).order_by()
    return dict(entries.values_list("person").annotate(Count("pk")))


def _initials(name: str) -> str:
    return "".join(word[0] for word in name.split()).upper()[:4]


def _figures(scope: Scope) -> Iterator[Figure]:
    yield Figure("People with a role here", str(len(_members(scope))))
    yield Figure("Entries in the ledger", str(sum(_entries_by_person(scope).values())))


SECTION = Section("staff", "People and initials", _blocks, _figures)
