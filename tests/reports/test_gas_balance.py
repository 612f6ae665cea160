"""What a cylinder lost on the scale, against what the fills explain.

18 L at 50 psi gauge and 2 degC in a 19 L keg take 242 g at equilibrium, and the keg holds 166 g
more when it is pushed empty at that pressure: Weiss (1974), computed apart from this program.
"""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from kegsafe.batches import services as batches
from kegsafe.pressure import services
from kegsafe.reports.gas_balance import balance_of
from kegsafe.rules.findings import Severity
from tests.builders import a_clean, a_fill, a_keg, a_person, a_recorder, a_venue

pytestmark = pytest.mark.django_db

BAR = Decimal(100_000)
# NIST SP 811 (2008), appendix B.8: 50 psi are 344 738 Pa. [memory]
FIFTY_PSI = Decimal(344_738)


@pytest.fixture
def venue():
    return a_venue()


@pytest.fixture
def cylinder(venue):
    """A cylinder, its regulator and a keg on it, weighed an hour ago."""
    by, now = a_recorder(venue), timezone.now() - timedelta(hours=2)
    cylinder = services.add_item(venue=venue, kind="cylinder", name="C1", by=by)
    regulator = services.add_item(
        venue=venue,
        kind="regulator",
        name="R1",
        rated_gauge_pa=10 * BAR,
        inlet_rated_gauge_pa=250 * BAR,
        relief_gauge_pa=6 * BAR,
        by=by,
    )
    services.connect(source=cylinder, item=regulator, at=now, by=by)
    services.set_pressure(regulator=regulator, set_gauge_pa=FIFTY_PSI, by=by)
    keg = a_keg(venue, name="K1")
    services.connect(source=regulator, keg=keg, at=now, by=by)
    _weigh(cylinder, 14_000, at=timezone.now() - timedelta(hours=1))
    return cylinder


def _weigh(cylinder, grams, *, at=None):
    services.weigh_cylinder(
        cylinder=cylinder,
        gross_g=Decimal(grams),
        uncertainty_g=Decimal(10),
        weighed_at=at or timezone.now(),
        by=a_recorder(cylinder.venue),
    )


def _fill(cylinder):
    keg = cylinder.venue.kegs.get()
    a_clean(cylinder.venue, keg)
    return a_fill(
        cylinder.venue,
        keg=keg,
        volume_ml=Decimal(18_000),
        set_gauge_pa=FIFTY_PSI,
    )


def test_one_weighing_is_no_balance(cylinder):
    assert balance_of(cylinder) is None


def test_a_fill_and_a_keg_poured_empty_explain_what_they_take(cylinder):
    fill = _fill(cylinder)
    batches.empty_fill(fill=fill, reason="Poured out", by=a_recorder(cylinder.venue))
    _weigh(cylinder, 13_592)
    balance = balance_of(cylinder)
    assert (balance.filled, balance.ended, balance.kegs) == (1, 1, ("K1",))
    assert balance.dissolved_g == pytest.approx(242, abs=3)
    assert balance.push_g == pytest.approx(166, abs=3)
    assert [finding.severity for finding in balance.findings] == [Severity.NOTE]


def test_gas_that_nothing_explains_asks_for_a_leak_test(cylinder):
    _weigh(cylinder, 13_900)
    (finding,) = balance_of(cylinder).findings
    assert finding.severity is Severity.ASK
    assert "Make a leak test" in finding.statement


def test_a_keg_still_on_may_have_taken_its_gas_already(cylinder):
    _fill(cylinder)
    _weigh(cylinder, 13_592)
    balance = balance_of(cylinder)
    assert balance.ended == 0
    assert balance.uncertainty_g > 150
    assert balance.findings[0].severity is Severity.NOTE


def test_fresh_gas_between_the_weighings_cannot_be_compared(cylinder):
    by = a_recorder(cylinder.venue)
    changes = {
        "cylinder_rule": "us.3al",
        "stamped_on": timezone.localdate().replace(day=1),
    }
    services.amend_item(item=cylinder, changes=changes, reason="Read", by=by)
    services.charge_cylinder(
        cylinder=cylinder,
        received_at=timezone.now(),
        supplier="Northfield",
        grade="food",
        lot="B1",
        charge_g=Decimal(9000),
        by=by,
    )
    _weigh(cylinder, 18_000)
    assert balance_of(cylinder).findings[0].rule == "balance.refilled"


def test_the_page_says_what_is_missing_and_then_the_sum(client, cylinder):
    client.force_login(a_person(cylinder.venue))
    url = reverse("pressure-item-balance", args=[cylinder.pk])
    assert "Two weighings are needed" in client.get(url).content.decode()
    _weigh(cylinder, 13_900)
    page = client.get(url).content.decode()
    assert "100 g more went than the fills explain" in page
    assert "no proof that nothing leaks" in page
