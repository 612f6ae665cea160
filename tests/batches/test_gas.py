"""A filled keg that warms up, its relief valve, and the gas that touched its drink.

Pressures: the reference keg of 19 L with 18 L of water that settled at 2 degC and 3.4 bar gauge,
reckoned apart from this program with CoolProp 8.0.0 and the solubility of Weiss (1974).
"""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from kegsafe.batches.gas import UnderGas, each_lot_once, gas_behind_fills, gas_of, under_gas
from kegsafe.pressure import services as pressure
from kegsafe.pressure.queries import LidRelief
from kegsafe.venues.models import Role
from tests.builders import a_batch, a_clean, a_fill, a_keg

BAR = Decimal(100_000)


def a_warm_keg(**facts):
    stated = {
        "keg_ml": Decimal(19_000),
        "drink_ml": Decimal(18_000),
        "temperature_degc": Decimal(2),
        "set_gauge_pa": Decimal("3.4") * BAR,
        "rated_gauge_pa": 9 * BAR,
        "abv_percent": Decimal(0),
        "sugar_g_per_l": Decimal(0),
        "relief": LidRelief("Relief valve V1", 7 * BAR, in_use=True),
    }
    return under_gas(UnderGas(**{**stated, **facts}))


class TestWarmth:
    def test_the_relief_of_seven_bar_opens_at_20_degrees_and_is_open_at_25(self):
        gas = a_warm_keg()
        assert gas.marks.relief_at.temperature_degc == pytest.approx(19.9, abs=0.3)
        assert [warm.opens_relief for warm in gas.warm] == [True, True]

    def test_at_25_degrees_it_holds_8_point_2_bar_and_is_said_to_hold_a_tenth_more(self):
        assert a_warm_keg().warm[0].gauge_pa / 100_000 == pytest.approx(8.22 * 1.1, rel=0.02)

    @pytest.mark.parametrize(("relief_bar", "opens"), [("8.1", True), ("8.4", False)])
    def test_it_opens_below_the_best_guess_and_stays_shut_above_it(self, relief_bar, opens):
        relief = LidRelief("Relief valve V1", Decimal(relief_bar) * BAR, in_use=True)
        assert a_warm_keg(relief=relief).warm[0].opens_relief is opens

    def test_the_rating_is_passed_early_as_the_pressure_is_taken_a_tenth_too_high(self):
        """9 bar at the best guess: 28.1 degC. A tenth less, 8.18 bar: just below 25 degC."""
        rating = a_warm_keg().marks.rating_at
        assert rating.is_reached
        assert rating.temperature_degc == pytest.approx(24.9, abs=0.4)

    @pytest.mark.parametrize(
        "relief",
        [
            None,
            LidRelief("Relief valve V1", None, in_use=True),
            LidRelief("Relief valve V1", 7 * BAR, in_use=False),
        ],
    )
    def test_a_valve_that_is_missing_unknown_or_out_of_use_is_never_counted_on(self, relief):
        gas = a_warm_keg(relief=relief)
        assert gas.marks.relief_at is None
        assert [warm.opens_relief for warm in gas.warm] == [None, None]

    @pytest.mark.parametrize(("relief_bar", "is_late"), [("9", False), ("9.01", True)])
    def test_a_valve_that_opens_above_the_rating_protects_nothing(self, relief_bar, is_late):
        relief = LidRelief("Relief valve V1", Decimal(relief_bar) * BAR, in_use=True)
        assert a_warm_keg(relief=relief).marks.is_relief_late is is_late

    def test_a_keg_without_a_rating_has_no_temperature_to_pass_it_at(self):
        gas = a_warm_keg(rated_gauge_pa=None)
        assert gas.marks.rating_at is None
        assert all(warm.is_over_rating for warm in gas.warm)

    @pytest.mark.parametrize(("drink_l", "is_full"), [("18.75", False), ("18.85", True)])
    def test_more_than_18_point_81_litres_are_full_of_liquid_at_45(self, drink_l, is_full):
        marks = a_warm_keg(drink_ml=Decimal(drink_l) * 1000).marks
        assert marks.most_drink_ml == pytest.approx(18_810, abs=10)
        assert marks.liquid_full_at.is_reached is is_full

    @pytest.mark.parametrize(("drink_ml", "has_gap"), [(18_050, True), (18_051, False)])
    def test_a_twentieth_of_the_keg_is_the_gap_to_keep(self, drink_ml, has_gap):
        """5 % of 19 L are 0.95 L. House rule of the facts."""
        assert a_warm_keg(drink_ml=Decimal(drink_ml)).marks.has_gap is has_gap

    def test_outside_of_the_science_there_is_no_number_and_the_reason(self):
        gas = a_warm_keg(set_gauge_pa=6 * BAR)
        assert (gas.marks, gas.carbonation) == (None, None)
        assert "gauge" in gas.trouble


@pytest.mark.django_db
class TestOnThePages:
    def test_a_fill_says_whether_the_relief_valve_would_open(self, venue, by, signed_in):
        fill = a_fill(venue)
        pressure.add_item(
            venue=venue,
            kind="relief_valve",
            name="V1",
            keg=fill.keg,
            relief_gauge_pa=2 * BAR,
            by=by,
        )
        said = " ".join(signed_in().get(fill.get_absolute_url()).content.decode().split())
        assert "Relief valve V1, opens at 29 psi (2 bar)" in said
        assert "The relief valve would open" in said
        assert "Passes its rating" in said
        assert "Full of liquid" in said

    def test_without_one_it_says_to_count_on_nothing(self, venue, signed_in):
        said = signed_in().get(a_fill(venue).get_absolute_url()).content.decode()
        assert "None on record: count on nothing that lets the pressure out" in said

    def test_who_looks_first_sees_the_warm_keg_before_it_is_filled(self, venue, signed_in):
        batch, keg = a_batch(venue), a_keg(venue)
        sent = {
            "keg": keg.pk,
            "volume_ml": "17 L",
            "liquid_temperature_degc": "2 °C",
            "set_gauge_pa": "2.5 bar",
            "gas_cycles": 3,
            "rest_hours": 8,
            "look": "yes",
        }
        answer = signed_in(Role.STAFF).post(reverse("fill-keg", args=[batch.pk]), sent)
        said = answer.content.decode()
        assert "Gas and warmth" in said
        assert "Passes its rating" in said
        assert not batch.fills.exists()

    def test_it_takes_one_query_more_than_the_fill_alone(self, venue, django_assert_num_queries):
        fill = a_fill(venue)
        with django_assert_num_queries(1):
            gas_of(fill)


def a_gas_system(venue, by, keg, at, *, lot="G-1"):
    """A cylinder with a lot, a regulator, and the keg on it since `at`."""
    cylinder = pressure.add_item(
        venue=venue,
        kind="cylinder",
        name=f"C {lot}",
        serial="77",
        cylinder_rule="us.3al",
        stamped_on=at.date().replace(day=1) - timedelta(days=400),
        rated_gauge_pa=250 * BAR,
        by=by,
    )
    pressure.charge_cylinder(
        cylinder=cylinder,
        received_at=at - timedelta(days=2),
        supplier="Brightwell Gases",
        registration="FB-12",
        grade="food",
        lot=lot,
        charge_g=Decimal(9070),
        certificate="COA-5",
        by=by,
    )
    regulator = pressure.add_item(
        venue=venue,
        kind="regulator",
        name=f"R {lot}",
        rated_gauge_pa=10 * BAR,
        inlet_rated_gauge_pa=250 * BAR,
        relief_gauge_pa=4 * BAR,
        by=by,
    )
    first = pressure.connect(source=cylinder, item=regulator, at=at, by=by)
    pressure.set_pressure(regulator=regulator, set_gauge_pa=2 * BAR, by=by)
    last = pressure.connect(source=regulator, keg=keg, at=at, by=by)
    return cylinder, first, last


def a_fill_of_half_an_hour_ago(venue):
    at, keg = timezone.now() - timedelta(minutes=30), a_keg(venue)
    a_clean(venue, keg, cleaned_at=at - timedelta(minutes=10))
    batch = a_batch(venue, made_at=at - timedelta(minutes=5))
    return a_fill(venue, batch=batch, keg=keg, filled_at=at)


@pytest.mark.django_db
class TestGasBehindFills:
    def test_lot_supplier_and_certificate_of_the_cylinder_at_filling(self, venue, by):
        fill = a_fill(venue)
        cylinder, *_ = a_gas_system(venue, by, fill.keg, fill.filled_at - timedelta(minutes=5))
        [gas] = gas_behind_fills([fill.pk])[fill.pk]
        assert (gas.cylinder, gas.lot, gas.supplier) == (cylinder.pk, "G-1", "Brightwell Gases")
        assert (gas.registration, gas.certificate, gas.grade) == ("FB-12", "COA-5", "food")
        assert gas.reached_at(fill.filled_at)

    def test_gas_connected_after_the_fill_touched_it_too_and_is_told_apart(self, venue, by):
        fill = a_fill_of_half_an_hour_ago(venue)
        a_gas_system(venue, by, fill.keg, fill.filled_at + timedelta(minutes=10))
        [gas] = gas_behind_fills([fill.pk])[fill.pk]
        assert not gas.reached_at(fill.filled_at)
        assert gas.reached_at(fill.filled_at + timedelta(minutes=20))

    def test_gas_taken_off_before_the_fill_did_not_touch_it(self, venue, by):
        fill = a_fill(venue)
        at = fill.filled_at - timedelta(hours=3)
        _, _, last = a_gas_system(venue, by, fill.keg, at)
        pressure.disconnect(last, at=fill.filled_at - timedelta(hours=1), by=by)
        assert gas_behind_fills([fill.pk])[fill.pk] == ()

    def test_a_path_counts_only_while_all_of_it_stood(self, venue, by):
        """The cylinder was taken off its regulator before the keg was filled."""
        fill = a_fill(venue)
        _, first, _ = a_gas_system(venue, by, fill.keg, fill.filled_at - timedelta(hours=3))
        pressure.disconnect(first, at=fill.filled_at - timedelta(hours=1), by=by)
        assert gas_behind_fills([fill.pk])[fill.pk] == ()

    def test_a_charge_that_came_meanwhile_is_behind_it_as_well(self, venue, by):
        fill = a_fill_of_half_an_hour_ago(venue)
        cylinder, *_ = a_gas_system(venue, by, fill.keg, fill.filled_at - timedelta(hours=1))
        came = fill.filled_at + timedelta(minutes=20)
        values = {"supplier": "Brightwell Gases", "grade": "food", "charge_g": Decimal(9000)}
        pressure.charge_cylinder(cylinder=cylinder, received_at=came, lot="G-2", by=by, **values)
        found = gas_behind_fills([fill.pk])[fill.pk]
        assert [gas.lot for gas in found] == ["G-1", "G-2"]
        assert [gas.reached_at(fill.filled_at) for gas in found] == [True, False]

    def test_the_fills_page_names_the_lot_and_leads_to_its_cylinder(self, venue, by, signed_in):
        fill = a_fill(venue)
        client = signed_in()
        said = client.get(fill.get_absolute_url()).content.decode()
        assert "No cylinder is on record as connected to this keg" in said
        cylinder, *_ = a_gas_system(venue, by, fill.keg, fill.filled_at)
        said = client.get(fill.get_absolute_url()).content.decode()
        assert "Lot G-1, Brightwell Gases" in said
        assert cylinder.get_absolute_url() in said

    def test_a_keg_that_hung_twice_on_a_lot_lists_it_once_with_both_times(
        self, venue, by, signed_in
    ):
        fill = a_fill_of_half_an_hour_ago(venue)
        _, _, last = a_gas_system(venue, by, fill.keg, fill.filled_at)
        pressure.disconnect(last, at=fill.filled_at + timedelta(minutes=10), by=by)
        again = fill.filled_at + timedelta(minutes=20)
        pressure.connect(source=last.source, keg=fill.keg, at=again, by=by)
        [once] = each_lot_once(gas_behind_fills([fill.pk])[fill.pk])
        assert [since for since, _ in once.spells] == [fill.filled_at, again]
        assert [until is None for _, until in once.spells] == [False, True]
        said = signed_in().get(fill.get_absolute_url()).content.decode()
        assert said.count("Lot G-1, Brightwell Gases") == 1
        assert "; again " in said

    def test_a_cylinder_without_a_recorded_lot_is_named_all_the_same(self, venue, by):
        fill = a_fill(venue)
        cylinder, *_ = a_gas_system(venue, by, fill.keg, fill.filled_at)
        cylinder.gas_fills.all().delete()
        [gas] = gas_behind_fills([fill.pk])[fill.pk]
        assert (gas.cylinder_serial, gas.lot, gas.gas_fill) == ("77", "", None)

    def test_two_kegs_on_one_cylinder_and_one_on_none(self, venue, by):
        first, other, alone = a_fill(venue), a_fill(venue), a_fill(venue)
        a_gas_system(venue, by, first.keg, first.filled_at, lot="G-1")
        a_gas_system(venue, by, other.keg, other.filled_at, lot="G-2")
        found = gas_behind_fills([first.pk, other.pk, alone.pk])
        lots = {key: [gas.lot for gas in behind] for key, behind in found.items()}
        assert lots == {first.pk: ["G-1"], other.pk: ["G-2"], alone.pk: []}

    @pytest.mark.parametrize("count", [1, 6])
    def test_five_queries_for_any_number(self, venue, by, django_assert_num_queries, count):
        fills = [a_fill(venue) for _ in range(count)]
        for number, fill in enumerate(fills):
            a_gas_system(venue, by, fill.keg, fill.filled_at, lot=f"G-{number}")
        with django_assert_num_queries(5):
            assert len(gas_behind_fills([fill.pk for fill in fills])) == count

    def test_no_fill_is_no_gas(self):
        assert gas_behind_fills([]) == {}
