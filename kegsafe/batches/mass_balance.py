"""Alcohol, sulphites and sugar of what is mixed, from what goes in: by mass, never by guess.

What is not known of one part is not known of the whole. Everything here is an estimate until
somebody measures it; for sulphites it is the upper bound.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from kegsafe.science import alcohol, sugar
from kegsafe.science.ranges import OutsideRange
from kegsafe.science.sulphite import SulphitePart, total_so2_mg_per_l
from kegsafe.stock.models import Ingredient, Lot, Measure

_WATER = "water"  # the kind of food in shared/tcs/categories.csv


@dataclass(frozen=True, slots=True)
class Drawn:
    """An amount in ml, g or pieces of something, and what is known of it. None is not known.

    `density_g_per_ml` is looked at for what is weighed.
    """

    measure: str
    amount: float
    abv_percent: float | None
    total_so2_mg_per_l: float | None
    sugar_g_per_l: float | None
    brix: float | None = None
    density_g_per_ml: float | None = None

    @property
    def brings_nothing(self) -> bool:
        """Whether it is known to hold no alcohol, no sulphite and no sugar: tea leaves, peel."""
        return self.abv_percent == self.total_so2_mg_per_l == self.sugar_g_per_l == 0

    @property
    def dry_sugar_g(self) -> float:
        """Grams of sugar in what is too sweet to be a syrup: sugar itself."""
        is_dry = self.measure == Measure.MASS and (self.brix or 0.0) > sugar.HIGHEST_BRIX
        return self.amount * (self.brix or 0.0) / 100.0 if is_dry else 0.0

    @property
    def volume_ml(self) -> float | None:
        """The volume it takes as a liquid; 0 for what is dry, None where it cannot be told."""
        if self.measure == Measure.VOLUME:
            return self.amount
        if self.dry_sugar_g:
            return 0.0
        if self.measure == Measure.MASS and (density := self._density()) is not None:
            return self.amount / density
        return 0.0 if self.brings_nothing else None

    def _density(self) -> float | None:
        if self.density_g_per_ml is not None:
            return self.density_g_per_ml
        if self.abv_percent == 0.0 and self.brix:
            return sugar.density_kg_m3(self.brix) / 1000.0
        return None


@dataclass(frozen=True, slots=True)
class Strength:
    """What a mixture comes to, rounded as the columns hold it. None is not known."""

    volume_ml: Decimal | None
    abv_percent: Decimal | None
    total_so2_mg_per_l: Decimal | None
    sugar_g_per_l: Decimal | None


def of_lot(lot: Lot, amount: Decimal) -> Drawn:
    """Return an amount of a lot: a preparation's own figures, or its ingredient's."""
    if not lot.ingredient.made_in_house:
        return of_ingredient(lot.ingredient, lot.measure, amount)
    return Drawn(
        measure=lot.measure,
        amount=float(amount),
        abv_percent=_number(lot.abv_percent),
        total_so2_mg_per_l=_number(lot.total_so2_mg_per_l),
        sugar_g_per_l=_number(lot.sugar_g_per_l),
        density_g_per_ml=_number(lot.ingredient.density_g_per_ml),
    )


def of_ingredient(ingredient: Ingredient, measure: str, amount: Decimal) -> Drawn:
    """Return an amount of an ingredient by the facts stated of it."""
    brix, density = _number(ingredient.sugar_brix), _number(ingredient.density_g_per_ml)
    if density is None and ingredient.category == _WATER:
        density = sugar.water_density_kg_m3(20.0) / 1000.0
    return Drawn(
        measure=measure,
        amount=float(amount),
        abv_percent=_number(ingredient.abv_percent),
        total_so2_mg_per_l=_number(ingredient.total_so2_mg_per_l),
        sugar_g_per_l=_sugar_g_per_l(brix, density),
        brix=brix,
        density_g_per_ml=density,
    )


def strength_of(drawn: Sequence[Drawn], measured_ml: Decimal | None = None) -> Strength:
    """Return what the parts come to, by mass balance at 20 degC.

    `measured_ml` is the volume somebody measured. Where it is more than the
    parts come to, the rest counts as water; where it is less, something was
    lost or boiled away, and sulphites count as if none of them went with it.

    What takes nobody knows what room, such as a whole lime, adds no alcohol and
    no sulphite where they are stated as 0: all else it adds is in the volume
    measured. Beside a liquid that holds some, it leaves them unknown until then.
    """
    try:
        return _strength(drawn, _number(measured_ml)) if drawn else _NOTHING_KNOWN
    except OutsideRange:
        return _NOTHING_KNOWN


_NOTHING_KNOWN = Strength(None, None, None, None)


def _strength(drawn: Sequence[Drawn], measured_ml: float | None) -> Strength:
    blend = _blend(drawn, measured_ml)
    return Strength(
        volume_ml=_rounded(blend.volume_ml if blend else None, "0.01"),
        abv_percent=_rounded(_abv(drawn, blend), "0.01"),
        total_so2_mg_per_l=_rounded(_so2(drawn, measured_ml), "0.01"),
        sugar_g_per_l=_rounded(_sugar(drawn, blend), "0.01"),
    )


def _blend(drawn: Sequence[Drawn], measured_ml: float | None) -> alcohol.Blend | None:
    """An unknown sugar counts as none: it moves the strength by less than the estimate is good."""
    if any(part.abv_percent is None and not part.dry_sugar_g for part in drawn):
        return None
    parts = [
        alcohol.Part(part.volume_ml, part.abv_percent or 0.0, part.sugar_g_per_l or 0.0)
        for part in drawn
        if part.volume_ml
    ]
    if not parts or not _knows_room(drawn, measured_ml):
        return None
    dry_g = sum(part.dry_sugar_g for part in drawn)
    blend = alcohol.blend(parts, dry_g)
    if measured_ml is None or measured_ml <= blend.volume_ml:
        return blend
    water = alcohol.Part(measured_ml - blend.volume_ml, 0.0)
    return alcohol.blend([*parts, water], dry_g)


def _knows_room(drawn: Sequence[Drawn], measured_ml: float | None) -> bool:
    return measured_ml is not None or all(part.volume_ml is not None for part in drawn)


def _abv(drawn: Sequence[Drawn], blend: alcohol.Blend | None) -> float | None:
    if all(part.abv_percent == 0 or part.dry_sugar_g for part in drawn):
        return 0.0
    is_lost = any(part.abv_percent and part.volume_ml is None for part in drawn)
    return None if blend is None or is_lost else blend.abv_percent


def _so2(drawn: Sequence[Drawn], measured_ml: float | None) -> float | None:
    """Milligrams in a litre of what has no litres are no number: not known, unless stated as 0."""
    if all(part.total_so2_mg_per_l == 0 for part in drawn):
        return 0.0
    if not _knows_room(drawn, measured_ml) or any(
        part.total_so2_mg_per_l != 0 and not part.volume_ml for part in drawn
    ):
        return None
    parts = [SulphitePart(part.volume_ml or 0.0, part.total_so2_mg_per_l) for part in drawn]
    content = total_so2_mg_per_l(parts)
    if content is None or not measured_ml:
        return content
    return content * sum(part.volume_ml for part in parts) / measured_ml


def _sugar(drawn: Sequence[Drawn], blend: alcohol.Blend | None) -> float | None:
    if all(part.sugar_g_per_l == 0 for part in drawn):
        return 0.0
    is_known = all(
        part.dry_sugar_g or part.sugar_g_per_l == 0 or (part.sugar_g_per_l and part.volume_ml)
        for part in drawn
    )
    return blend.sugar_g_per_l if blend and is_known else None


def _sugar_g_per_l(brix: float | None, density_g_per_ml: float | None) -> float | None:
    if brix is None:
        return None
    if density_g_per_ml is not None:
        return brix / 100.0 * density_g_per_ml * 1000.0
    return sugar.sugar_g_per_l(brix) if brix <= sugar.HIGHEST_BRIX else None


def _number(value: Decimal | None) -> float | None:
    return None if value is None else float(value)


def _rounded(value: float | None, places: str) -> Decimal | None:
    return None if value is None else Decimal(repr(value)).quantize(Decimal(places))
