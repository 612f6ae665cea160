"""Who may do what in inspection, and a record of each kind its addresses ask for."""

from datetime import date

from django.utils import timezone

from kegsafe.inspection import services, storage
from kegsafe.inspection.models import InspectionPack, PackWork
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY
from kegsafe.venues.models import Role, Venue
from tests.builders import a_recorder

# Address, who may open it, who may send its form: part of the table in tests/test_roles.py.
INSPECTION: dict[str, tuple[frozenset[Role], frozenset[Role]]] = {
    "packs": (EVERYBODY, NOBODY),
    "pack-make": (MANAGERS, MANAGERS),
    "pack-work": (EVERYBODY, NOBODY),
    "pack-work-state": (EVERYBODY, NOBODY),
    "pack": (EVERYBODY, NOBODY),
    "pack-pdf": (EVERYBODY, NOBODY),
    "pack-rows": (EVERYBODY, NOBODY),
    "pack-link": (MANAGERS, MANAGERS),
    "link-end": (NOBODY, MANAGERS),
    "haccp": (EVERYBODY, MANAGERS),
    "haccp-step": (MANAGERS, MANAGERS),
}
INSPECTION_KINDS: tuple[str, ...] = ("pack", "pack-work", "haccp-step", "link")


def inspection_records(venue: Venue) -> dict[str, object]:
    """Return one record of each kind."""
    adopted = venue.haccp_steps.first()
    if adopted is None:
        adopted, *_ = services.adopt_summary(venue=venue, by=a_recorder(venue))
    pack = a_kept_pack(venue)
    link, _ = services.make_link(pack=pack, reader="I. Vale", days=7, by=a_recorder(venue))
    return {
        "pack": pack,
        "link": link,
        "pack-work": _an_ended_work(venue),
        "haccp-step": adopted,
    }


def a_kept_pack(venue: Venue) -> InspectionPack:
    """A pack whose files are there; what is in them no role asks."""
    pack = InspectionPack(
        venue=venue,
        first=date(2026, 11, 1),
        last=date(2026, 11, 2),
        sections=["fills"],
        paper="a4",
        made_by="mara",
        made_at=timezone.now(),
        head_sequence=1,
        head_hash="0" * 64,
        counts={"fills": 1},
        pages=1,
        size=1,
        sha256="0" * 64,
        rows_size=1,
        rows_sha256="0" * 64,
        stored_as=f"roles-{venue.pk}",
    )
    for ending in (storage.PDF, storage.ROWS):
        storage.path_of(pack, ending).write_bytes(b"1")
    return services.record_pack(pack, by=a_recorder(venue))


def _an_ended_work(venue: Venue) -> PackWork:
    now = timezone.now()
    return PackWork.objects.create(
        venue=venue,
        first=date(2026, 11, 1),
        last=date(2026, 11, 2),
        sections=["fills"],
        paper="a4",
        ordered_by="mara",
        ordered_at=now,
        beat_at=now,
        state=PackWork.State.FAILED,
        trouble="No paper.",
    )
