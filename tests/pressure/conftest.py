"""A venue with a gas system that holds: what each test needs before it begins."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

import pytest
from django.utils import timezone

from kegsafe.equipment.models import Keg
from kegsafe.ledger.services import Recorder
from kegsafe.pressure import services
from kegsafe.pressure.models import Connection, Item
from kegsafe.venues.models import Venue
from tests.builders import a_keg, a_recorder, a_venue
from tests.pressure.point_results import BAR


@pytest.fixture
def venue() -> Venue:
    return a_venue()


@pytest.fixture
def by(venue) -> Recorder:
    return a_recorder(venue)


@pytest.fixture
def an_item(venue, by) -> Callable[..., Item]:
    """Return how to add an item of a kind."""

    def add(kind: str, name: str = "1", **values: object) -> Item:
        return services.add_item(venue=venue, kind=kind, name=name, by=by, **values)

    return add


@dataclass(frozen=True)
class Gas:
    """A cylinder in date, a regulator set to 2 bar with its relief at 6, a manifold, a keg."""

    cylinder: Item
    regulator: Item
    manifold: Item
    keg: Keg
    to_keg: Connection


@pytest.fixture
def gas(venue, by, an_item) -> Gas:
    cylinder = an_item(
        "cylinder",
        cylinder_rule="us.3al",
        stamped_on=date(timezone.localdate().year - 1, 1, 1),
        rated_gauge_pa=250 * BAR,
        tare_g=Decimal(9100),
        charge_g=Decimal(9070),
    )
    regulator = an_item(
        "regulator",
        rated_gauge_pa=10 * BAR,
        inlet_rated_gauge_pa=250 * BAR,
        relief_gauge_pa=6 * BAR,
    )
    manifold = an_item("manifold", rated_gauge_pa=10 * BAR)
    keg, now = a_keg(venue, name="K1"), timezone.now()
    services.connect(source=cylinder, item=regulator, at=now, by=by)
    services.connect(source=regulator, item=manifold, at=now, by=by)
    services.set_pressure(regulator=regulator, set_gauge_pa=2 * BAR, by=by)
    to_keg = services.connect(source=manifold, keg=keg, at=now, by=by)
    return Gas(cylinder, regulator, manifold, keg, to_keg)
