"""Who may do what in the pressure room, and a record of each kind its addresses ask for."""

from decimal import Decimal

from django.utils import timezone

from kegsafe.frame.documents import NewDocument
from kegsafe.pressure import services as pressure
from kegsafe.pressure.models import CheckPhotograph, Connection, Document, GasRoom, Item
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, OWNERS, RECORDERS
from kegsafe.venues.models import Venue
from tests.builders import a_recorder
from tests.pressure.pictures import a_picture

# Address, who may open it, who may send its form: part of the table in tests/test_roles.py.
PRESSURE = {
    "pressure": (EVERYBODY, NOBODY),
    "pressure-audit": (MANAGERS, NOBODY),
    "due-calendar": (EVERYBODY, NOBODY),
    "owner-audit-pdf": (MANAGERS, NOBODY),
    "pressure-item": (EVERYBODY, NOBODY),
    "pressure-item-add": (MANAGERS, MANAGERS),
    "pressure-item-amend": (MANAGERS, MANAGERS),
    "pressure-item-service": (RECORDERS, RECORDERS),
    "pressure-item-check": (RECORDERS, RECORDERS),
    "pressure-item-interval": (OWNERS, OWNERS),
    "pressure-item-leak": (RECORDERS, RECORDERS),
    "pressure-item-document": (RECORDERS, RECORDERS),
    "pressure-item-connect": (RECORDERS, RECORDERS),
    "pressure-item-set": (MANAGERS, MANAGERS),
    "pressure-item-charge": (RECORDERS, RECORDERS),
    "pressure-item-weigh": (RECORDERS, RECORDERS),
    "pressure-item-label": (EVERYBODY, NOBODY),
    "pressure-item-balance": (EVERYBODY, NOBODY),
    "pressure-keg": (EVERYBODY, NOBODY),
    "pressure-keg-plate": (MANAGERS, MANAGERS),
    "pressure-keg-check": (RECORDERS, RECORDERS),
    "pressure-keg-interval": (OWNERS, OWNERS),
    "pressure-keg-leak": (RECORDERS, RECORDERS),
    "pressure-keg-document": (RECORDERS, RECORDERS),
    "pressure-check": (EVERYBODY, NOBODY),
    "pressure-check-photograph": (RECORDERS, RECORDERS),
    "pressure-photograph": (EVERYBODY, NOBODY),
    "pressure-document": (EVERYBODY, NOBODY),
    "gas": (EVERYBODY, NOBODY),
    "gas-disconnect": (RECORDERS, RECORDERS),
    "gas-rooms": (EVERYBODY, NOBODY),
    "gas-room": (EVERYBODY, NOBODY),
    "gas-room-add": (MANAGERS, MANAGERS),
    "gas-room-amend": (MANAGERS, MANAGERS),
    "gas-room-sign": (EVERYBODY, NOBODY),
    "gas-room-document": (RECORDERS, RECORDERS),
}
PRESSURE_KINDS = ("gas-room", "pressure-check", "pressure-document", "pressure-photograph")
# Whose record the number in an address is, where its name does not say so.
OF_PRESSURE_GEAR = {
    "gas-disconnect": "gas",
    "pressure-item-set": "regulator",
    "pressure-item-charge": "cylinder",
    "pressure-item-weigh": "cylinder",
    "pressure-item-balance": "cylinder",
}


def add_pressure_records(venue: Venue) -> None:
    """Record a room, a cylinder on a regulator, and a manifold with a failed check and papers."""
    by = a_recorder(venue)
    pressure.add_gas_room(venue=venue, name="Test cellar", by=by)
    cylinder, regulator, manifold = (
        pressure.add_item(venue=venue, kind=kind, name="Test", by=by, **plate)
        for kind, plate in (
            ("cylinder", {}),
            ("regulator", {"inlet_rated_gauge_pa": Decimal(25_000_000)}),
            ("manifold", {}),
        )
    )
    pressure.connect(source=cylinder, item=regulator, at=timezone.now(), by=by)
    failed = pressure.record_check(
        item=manifold,
        check="yearly",
        results={"shut_offs": "pass", "back_flow": "fail"},
        by=by,
    )
    pressure.keep_check_photograph(check=failed, sent=NewDocument("valve.png", a_picture()), by=by)
    pressure.keep_document(
        venue=venue,
        item=manifold,
        kind="certificate",
        sent=NewDocument("papers.pdf", b"%PDF-1.4\n%%EOF"),
        by=by,
    )


def pressure_records(venue: Venue) -> dict[str, object]:
    """Return one record of each kind."""
    return {
        "gas": Connection.objects.filter(venue=venue).last(),
        "gas-room": GasRoom.objects.filter(venue=venue).first(),
        "pressure-check": venue.pressure_checks.first(),
        "pressure-photograph": CheckPhotograph.objects.filter(of_check__venue=venue).first(),
        "pressure-document": Document.objects.filter(venue=venue).first(),
        **{
            kind: Item.objects.filter(venue=venue, kind=kind, name="Test").get()
            for kind in ("cylinder", "regulator", "manifold")
        },
    }
