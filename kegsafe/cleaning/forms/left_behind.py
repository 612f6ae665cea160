"""With what figures the bound on what a drink left behind is worked out."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms

from kegsafe.cleaning.dilution import FITTINGS_ML
from kegsafe.equipment.models import Keg, Line
from kegsafe.frame.quantity_fields import QuantityField, as_typed
from kegsafe.quantities import Kind
from kegsafe.rules.cleaning.carry_over import (
    CarryOverBound,
    KegHeel,
    LineRinse,
    carry_over,
    keg_carry_over,
)
from kegsafe.rules.cleaning.guidance import guidance
from kegsafe.rules.cleaning.mixing import line_solution_ml
from kegsafe.science.ranges import OutsideRange

DOSE_SETS = ("FAO/WHO", "Belgium")
_MG_PER_L_IN_A_MG_PER_ML = 1000


class _LeftForm(forms.Form):
    """What both models ask. Sent empty, the figures that are taken where nobody read better."""

    protein = QuantityField(
        kind=Kind.CONCENTRATION, label="Protein of the last drink", help_text="From its label."
    )
    doses = forms.ChoiceField(label="Reference doses", choices=[(each, each) for each in DOSE_SETS])

    def __init__(self, data: Any, *, taken: dict[str, Any]) -> None:
        protein = guidance("carry_over.protein").maximum
        usual = {"protein": f"{protein} g/L", "doses": DOSE_SETS[0], **taken}
        super().__init__({**usual, **data.dict()})

    def _protein(self) -> Decimal:
        return self.cleaned_data["protein"].value / _MG_PER_L_IN_A_MG_PER_ML

    def bounds(self, sources: Iterable[str]) -> list[CarryOverBound]:
        """Return the bound for each source; none, and why, where the figures are no bar's."""
        if not self.is_valid():
            return []
        try:
            return [self._bound(source, self.cleaned_data["doses"]) for source in sources]
        except OutsideRange as trouble:
            self.add_error(None, str(trouble))
            return []

    def _bound(self, source: str, doses: str) -> CarryOverBound:
        raise NotImplementedError


class LineLeftForm(_LeftForm):
    """A line: what it holds, and the rinse that left it."""

    volume = QuantityField(kind=Kind.VOLUME, label="The line with its fittings holds")
    rinse = QuantityField(
        kind=Kind.VOLUME, label="Rinse that left the tap", help_text="0 ml where nobody measured."
    )

    def __init__(self, data: Any, *, line: Line) -> None:
        volume = as_typed(_volume_ml(line), Kind.VOLUME, "metric")
        super().__init__(data, taken={"volume": volume or "", "rinse": "0 ml"})

    def _bound(self, source: str, doses: str) -> CarryOverBound:
        rinse = LineRinse(
            source=source,
            line_ml=self.cleaned_data["volume"].value,
            protein_mg_per_ml=self._protein(),
            rinse_ml=self.cleaned_data["rinse"].value,
        )
        return carry_over(rinse, doses)


class KegLeftForm(_LeftForm):
    """A keg: what stayed in it, how it was rinsed, and what is poured from it next."""

    heel = QuantityField(kind=Kind.VOLUME, label="Left in the keg when it was empty")
    rinse = QuantityField(kind=Kind.VOLUME, label="Water of each rinse")
    rinses = forms.IntegerField(label="Rinses, each drained", min_value=0, max_value=50)
    pour = QuantityField(kind=Kind.VOLUME, label="Largest pour sold")

    def __init__(self, data: Any, *, keg: Keg) -> None:
        self.keg = keg
        heel = guidance("carry_over.heel").maximum
        taken = {"heel": f"{heel} ml", "rinse": "2 L", "rinses": 0, "pour": "150 ml"}
        super().__init__(data, taken=taken)

    def _bound(self, source: str, doses: str) -> CarryOverBound:
        heel = KegHeel(
            source=source,
            heel_ml=self.cleaned_data["heel"].value,
            protein_mg_per_ml=self._protein(),
            rinse_ml=self.cleaned_data["rinse"].value,
            rinses=self.cleaned_data["rinses"],
            keg_ml=self.keg.capacity_ml,
            pour_ml=self.cleaned_data["pour"].value,
        )
        return keg_carry_over(heel, doses)


def _volume_ml(line: Line) -> Decimal | None:
    """Return what a line holds by its bore and length; None where one is not on record."""
    if line.length_m is None or line.inner_diameter_mm is None:
        return None
    try:
        return line_solution_ml(line.length_m, line.inner_diameter_mm, FITTINGS_ML, Decimal(0))
    except OutsideRange:
        return None
