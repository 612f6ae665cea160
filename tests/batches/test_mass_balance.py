"""Alcohol, sulphites and sugar of a mixture, from what goes in."""

from decimal import Decimal

import pytest

from kegsafe.batches.mass_balance import Drawn, strength_of
from kegsafe.stock.models import Measure


def spirit(ml: float, abv: float | None = 40.0, so2: float | None = 0.0) -> Drawn:
    return Drawn(Measure.VOLUME, ml, abv, so2, 0.0)


def water(ml: float) -> Drawn:
    return Drawn(Measure.VOLUME, ml, 0.0, 0.0, 0.0)


def weighed(grams: float, brix: float | None, so2: float | None = 0.0) -> Drawn:
    sugar = 0.0 if brix == 0 else None
    return Drawn(Measure.MASS, grams, 0.0, so2, sugar, brix=brix)


def test_spirit_and_water_contract():
    """OIML R 22: 1 L of 40 % vol and 1 L of water make less than 2 L, and more than 20 % vol."""
    strength = strength_of([spirit(1000), water(1000)])
    assert strength.volume_ml < 2000
    assert strength.abv_percent == Decimal("20.01")


def test_dry_sugar_and_water_by_weight_make_a_syrup_of_fifty_brix():
    """ICUMSA density at 50 Brix and 20 degC, 1229.7 kg/m3: 614.8 g in a litre. [second-hand]"""
    water_by_weight = Drawn(Measure.MASS, 1000, 0.0, 0.0, 0.0, density_g_per_ml=0.9982)
    strength = strength_of([weighed(1000, 100.0), water_by_weight])
    assert strength.sugar_g_per_l == pytest.approx(Decimal("614.8"), abs=Decimal("0.2"))
    assert strength.volume_ml == pytest.approx(Decimal(1626), abs=Decimal(1))


def test_what_the_lots_do_not_come_to_counts_as_water():
    strength = strength_of([spirit(4500)], Decimal(18_000))
    assert strength.abv_percent == pytest.approx(Decimal(10), abs=Decimal("0.05"))


def test_so2_is_shared_over_the_volume_that_was_measured():
    """90 mg/L in 20 ml of 160 ml: 11.25 mg/L."""
    wine = Drawn(Measure.VOLUME, 20, 12.0, 90.0, 0.0)
    assert strength_of([wine, water(140)]).total_so2_mg_per_l == Decimal("11.25")


def test_what_is_boiled_away_takes_no_so2_with_it():
    wine = Drawn(Measure.VOLUME, 1000, 12.0, 90.0, 0.0)
    assert strength_of([wine], Decimal(500)).total_so2_mg_per_l == Decimal("180.00")


def test_one_unknown_strength_makes_the_whole_unknown_and_leaves_the_so2_known():
    strength = strength_of([spirit(1000), spirit(1000, abv=None)])
    assert strength.abv_percent is None
    assert strength.total_so2_mg_per_l == 0


def test_one_unknown_so2_makes_the_whole_unknown():
    assert strength_of([spirit(1000), spirit(10, so2=None)]).total_so2_mg_per_l is None


def test_an_unknown_sugar_leaves_the_strength_known():
    liqueur = Drawn(Measure.VOLUME, 1000, 20.0, 0.0, None)
    strength = strength_of([liqueur, spirit(1000)])
    assert strength.sugar_g_per_l is None
    assert strength.abv_percent is not None


def test_peel_that_brings_nothing_dilutes_nothing():
    peel = Drawn(Measure.COUNT, 14, 0.0, 0.0, 0.0)
    assert strength_of([spirit(1000), peel]).abv_percent == Decimal("40.00")


def test_pieces_of_which_nothing_is_known_leave_nothing_known():
    egg = Drawn(Measure.COUNT, 3, None, None, None)
    assert strength_of([spirit(1000), egg]) == strength_of([])


def test_a_syrup_by_weight_takes_the_room_of_its_density():
    strength = strength_of([weighed(1229.7, 50.0), spirit(1000)])
    assert strength.volume_ml == pytest.approx(Decimal(2000), abs=Decimal(30))


def test_more_sugar_than_water_can_hold_gives_no_number():
    strength = strength_of([weighed(9000, 100.0), water(100)])
    assert strength.sugar_g_per_l is None
    assert strength.abv_percent is None


def whole_fruit(pieces: float = 40, abv: float | None = 0.0, so2: float | None = 0.0) -> Drawn:
    """Limes by the piece: their sugar and the room they take are not on record."""
    return Drawn(Measure.COUNT, pieces, abv, so2, None)


class TestPressedFromWholeFruit:
    """Juice of fruit stated to hold no alcohol and no SO2 holds none: nothing is added by pressing.

    Mass balance, as in OIML R 22 for the alcohol; the numbers are worked by hand.
    """

    JUICE = Decimal(1200)

    def test_the_juice_holds_neither_alcohol_nor_so2(self):
        juice = strength_of([whole_fruit()], self.JUICE)
        assert (juice.abv_percent, juice.total_so2_mg_per_l) == (0, 0)

    def test_fruit_by_weight_is_read_alike(self):
        juice = strength_of([weighed(3000, None)], self.JUICE)
        assert (juice.abv_percent, juice.total_so2_mg_per_l) == (0, 0)

    def test_its_sugar_stays_unknown(self):
        assert strength_of([whole_fruit()], self.JUICE).sugar_g_per_l is None

    def test_blank_is_not_zero(self):
        blank = strength_of([whole_fruit(abv=None, so2=None)], self.JUICE)
        assert (blank.abv_percent, blank.total_so2_mg_per_l) == (None, None)
        assert strength_of([whole_fruit(so2=None)], self.JUICE).total_so2_mg_per_l is None
        assert strength_of([whole_fruit(abv=None)], self.JUICE).abv_percent is None

    def test_so2_on_the_fruit_is_no_number_of_the_juice(self):
        assert strength_of([whole_fruit(so2=50.0)], self.JUICE).total_so2_mg_per_l is None

    def test_one_blank_fruit_beside_a_stated_one_leaves_the_juice_unknown(self):
        mixed = strength_of([whole_fruit(), whole_fruit(so2=None)], self.JUICE)
        assert mixed.total_so2_mg_per_l is None

    def test_what_the_fruit_gives_to_a_wine_thins_its_so2(self):
        """90 mg/L in 500 ml is 45 mg; in 1500 ml measured, 30 mg/L."""
        wine = Drawn(Measure.VOLUME, 500, 12.0, 90.0, 0.0)
        punch = strength_of([wine, whole_fruit()], Decimal(1500))
        assert punch.total_so2_mg_per_l == Decimal("30.00")
        assert punch.abv_percent == pytest.approx(Decimal(4), abs=Decimal("0.05"))

    def test_beside_a_wine_it_leaves_the_mixture_unknown_until_it_is_measured(self):
        wine = Drawn(Measure.VOLUME, 500, 12.0, 90.0, 0.0)
        punch = strength_of([wine, whole_fruit()])
        assert (punch.volume_ml, punch.abv_percent, punch.total_so2_mg_per_l) == (None,) * 3

    def test_a_spirit_by_weight_of_unknown_density_leaves_the_strength_unknown(self):
        weighed_spirit = Drawn(Measure.MASS, 700, 40.0, 0.0, 0.0)
        assert strength_of([weighed_spirit, water(500)], self.JUICE).abv_percent is None

    def test_dry_sugar_with_so2_leaves_the_so2_unknown(self):
        sugar = Drawn(Measure.MASS, 500, 0.0, 20.0, None, brix=100.0)
        assert strength_of([sugar, water(500)]).total_so2_mg_per_l is None
