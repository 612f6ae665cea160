"""What touched a drink besides what it was made of: gas with its lot, cleaning chemicals."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from kegsafe.batches import services as batches
from kegsafe.pressure import services as pressure
from kegsafe.tracing.queries import fill_reached
from kegsafe.tracing.touched import CLEANS_SHOWN, touched_by
from tests.builders import a_clean, a_fill, a_keg, a_recorder, a_tap, a_tapping, a_venue
from tests.cleaning.cycle_acts import Cleaner, a_plan

pytestmark = pytest.mark.django_db

BAR = Decimal(100_000)
# Connections, cylinders, charges, papers; cycles with their steps; plain records.
MOST_QUERIES = 7


@pytest.fixture
def venue():
    return a_venue()


def _touched(venue, fill):
    return touched_by(fill_reached(venue, fill.pk))


def _put_on_gas(venue, keg, lot="G-77"):
    by, now = a_recorder(venue), timezone.now() - timedelta(hours=2)
    cylinder = pressure.add_item(
        venue=venue,
        kind="cylinder",
        name="C1",
        cylinder_rule="us.3al",
        stamped_on=date(timezone.localdate().year - 1, 1, 1),
        rated_gauge_pa=250 * BAR,
        by=by,
    )
    regulator = pressure.add_item(
        venue=venue,
        kind="regulator",
        name="R1",
        rated_gauge_pa=10 * BAR,
        inlet_rated_gauge_pa=250 * BAR,
        relief_gauge_pa=6 * BAR,
        by=by,
    )
    pressure.charge_cylinder(
        cylinder=cylinder,
        received_at=now,
        supplier="Brook Gases",
        grade="food",
        lot=lot,
        charge_g=Decimal(9000),
        by=by,
    )
    pressure.connect(source=cylinder, item=regulator, at=now, by=by)
    pressure.set_pressure(regulator=regulator, set_gauge_pa=2 * BAR, by=by)
    pressure.connect(source=regulator, keg=keg, at=now, by=by)


class TestGas:
    def test_the_lot_of_gas_on_the_keg_is_told_with_its_supplier(self, venue):
        fill = a_fill(venue)
        _put_on_gas(venue, fill.keg)
        (gas,) = _touched(venue, fill).gas
        assert (gas.lot, gas.supplier, gas.grade) == ("G-77", "Brook Gases", "food")
        assert gas.reached_until is None

    def test_gas_on_another_keg_is_not_told(self, venue):
        fill = a_fill(venue)
        _put_on_gas(venue, a_keg(venue))
        assert _touched(venue, fill).gas == ()


class TestCleaning:
    def test_the_batches_of_a_cycle_are_told_in_order(self, venue):
        cleaner, keg = Cleaner(venue), a_keg(venue)
        (cycle,) = cleaner.starts(a_plan(venue, "keg"), keg)
        cleaner.does_all(cycle)
        fill = a_fill(venue, keg=keg)
        (clean,) = _touched(venue, fill).cleans
        assert clean.cycle_id == cycle.pk
        assert [batch.batch for batch in clean.chemicals] == ["B1", "B1"]
        assert [batch.chemical.chemistry for batch in clean.chemicals][-1] == "sanitiser"

    def test_a_line_that_was_not_cleaned_is_named(self, venue):
        fill, tap = a_fill(venue), a_tap(venue)
        a_clean(venue, tap.line, cleaned_at=timezone.now() - timedelta(days=2))
        before = a_tapping(venue, fill=a_fill(venue), tap=tap)
        by = a_recorder(venue)
        batches.empty_fill(fill=before.fill, reason="Poured to the end.", by=by)
        batches.tap_keg(fill=fill, tap=tap, at=timezone.now(), accept_line=True, by=by)
        assert _touched(venue, fill).uncleaned == [f"Line {tap.line.name}"]

    def test_a_line_is_traced_to_its_own_cleans(self, venue):
        on_tap = a_tapping(venue)
        pieces = {clean.piece for clean in _touched(venue, on_tap.fill).cleans}
        assert f"Line {on_tap.tap.line.name}" in pieces

    def test_of_years_of_cleans_the_newest_are_told(self, venue):
        keg, now = a_keg(venue), timezone.now()
        for days in range(CLEANS_SHOWN + 2):
            a_clean(venue, keg, cleaned_at=now - timedelta(days=days, hours=1))
        cleans = _touched(venue, a_fill(venue, keg=keg)).cleans
        assert len(cleans) == CLEANS_SHOWN
        assert cleans[-1].cleaned_at == now - timedelta(hours=1)


def test_it_costs_a_fixed_number_of_queries(venue, django_assert_max_num_queries):
    cleaner, keg = Cleaner(venue), a_keg(venue)
    plan = a_plan(venue, "keg")
    for hours in (40, 20, 8):
        (cycle,) = cleaner.starts(plan, keg, at=timezone.now() - timedelta(hours=hours))
        cleaner.does_all(cycle)
    fill = a_fill(venue, keg=keg)
    a_tapping(venue, fill=fill)
    _put_on_gas(venue, keg)
    reached = fill_reached(venue, fill.pk)
    with django_assert_max_num_queries(MOST_QUERIES):
        touched_by(reached)
