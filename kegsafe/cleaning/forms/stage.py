"""One stage of a circuit: what is sent with one tap of the recording page."""

import uuid
from collections.abc import Mapping, Sequence
from decimal import Decimal
from itertools import pairwise
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from kegsafe.cleaning.forms.reading_fields import PhField, StrengthField
from kegsafe.cleaning.models import ChemicalBatch
from kegsafe.cleaning.services import Measured
from kegsafe.cleaning.services.stages import StageRecord
from kegsafe.cleaning.stages import Stage
from kegsafe.frame.layout import FieldsHelper, SideBySide
from kegsafe.frame.quantity_fields import QuantityField
from kegsafe.quantities import Kind
from kegsafe.rules.cleaning.plans import PlanStep
from kegsafe.rules.cleaning.readings import Means, Reading
from kegsafe.rules.cleaning.vocabulary import StepKind

HOT_WATER = "hot-water"
SAME, PASSED, BAND = "same", "passed", "strength_band"

_WAYS = {
    "circulated": "Circulated with a pump",
    "soaked": "Left standing in it",
    "immersion": "Immersed or filled",
    "by_hand": "By hand",
}


class Outlets:
    """The outlets whose rinse water is read: of each cycle, or of each piece before it began."""

    def __init__(self, key: int | str, name: str, count: int) -> None:
        self.key, self.name, self.count = key, name, count

    @property
    def fields(self) -> dict[str, str]:
        """Return the form's field names with their labels."""
        if self.count == 1:
            return {f"outlet-{self.key}-1": f"{self.name}: pH of the rinse water"}
        return {
            f"outlet-{self.key}-{number}": f"{self.name}, tap {number}: pH of the rinse water"
            for number in range(1, self.count + 1)
        }


class StageForm(forms.Form):
    """The fields of a stage. Which there are depends on its steps; the buttons say what was seen.

    `dosed` is the strength worked out for the solution in the line, in words: sent unchanged it
    is kept as dosed, not as measured.
    """

    key = forms.UUIDField(widget=forms.HiddenInput)
    stage = forms.CharField(max_length=40, widget=forms.HiddenInput)
    seen = forms.RegexField(
        r"^(\d{1,12}:\d{1,9}(,\d{1,12}:\d{1,9})*)?$", required=False, widget=forms.HiddenInput
    )

    def __init__(
        self,
        *args: Any,
        of: Stage,
        outlets: Sequence[Outlets] = (),
        batches: Sequence[ChemicalBatch] = (),
        takes_hot_water: bool = False,
        seen: Mapping[int, int] | None = None,
        tap_water: str = "",
        dosed: str = "",
        used: ChemicalBatch | None = None,
        **kwargs: Any,
    ) -> None:
        self.of, self.outlets, self.batches = of, outlets, batches
        self.dosed, self.used = dosed, used
        shown = {
            "key": uuid.uuid4(),
            "stage": of.token,
            "seen": ",".join(f"{line}:{sequence}" for line, sequence in (seen or {}).items()),
            "tap_water_ph": tap_water,
            "strength": dosed,
        }
        super().__init__(*args, initial={**shown, **kwargs.pop("initial", {})}, **kwargs)
        layout: list[Any] = ["key", "stage", "seen"]
        if of.ends is not None:
            layout += self._add_end(of.ends)
        if of.reads_rinse:
            layout += self._add_rinse()
        if of.begins is not None:
            layout += self._add_begin(of.begins, takes_hot_water=takes_hot_water)
        self.helper = FieldsHelper(self, *layout)

    def _add_end(self, step: PlanStep) -> list[Any]:
        is_detergent = step.kind is StepKind.DETERGENT
        examples = "2.5 %" if is_detergent else "150 ppm, or 100 to 200 ppm on a strip"
        self.fields["strength"] = StrengthField(
            label="Strength", help_text=f"As dosed or as read: {examples}." if is_detergent
            else f"As read: {examples}.",
        )  # fmt: skip
        self.fields["temperature"] = QuantityField(
            kind=Kind.TEMPERATURE, label="Coldest it was", required=False
        )
        self.fields["flow"] = QuantityField(kind=Kind.FLOW, label="Flow", required=False)
        rows: list[Any] = [SideBySide("temperature", "strength")]
        if is_detergent:
            return [*rows, "flow"] if step.flow is not None else rows
        self.fields["ph"] = PhField(label="pH of the solution", help_text="Where the code asks.")
        self.fields["hardness"] = QuantityField(
            kind=Kind.SANITISER_STRENGTH,
            label="Hardness of the water",
            required=False,
            help_text="As CaCO3, where the code asks: 150 mg/L.",
        )
        return [*rows, SideBySide("ph", "hardness")]

    def _add_rinse(self) -> list[Any]:
        self.fields["tap_water_ph"] = PhField(
            label="pH of the tap water itself", help_text="By the same strips or meter."
        )
        names = {name: label for each in self.outlets for name, label in each.fields.items()}
        for name, label in names.items():
            self.fields[name] = PhField(label=label)
        return ["tap_water_ph", *names]

    def _add_begin(self, step: PlanStep, *, takes_hot_water: bool) -> list[Any]:
        choices = [(str(batch.pk), str(batch)) for batch in self.batches]
        if takes_hot_water:
            choices.append((HOT_WATER, "Hot water, no chemical"))
        missing = [] if choices else [("", "None on the list: put one on it first")]
        self.fields["chemical"] = forms.ChoiceField(
            label=f"Chemical for {step.name}", choices=choices or missing, required=bool(choices)
        )
        layout = ["chemical"]
        if len(step.contacts) > 1:
            ways = [(each.application.value, _WAYS.get(each.application.value,
                     each.application.value)) for each in step.contacts]  # fmt: skip
            self.fields["application"] = forms.ChoiceField(label="How", choices=ways)
            layout.append("application")
        return layout

    def clean_seen(self) -> dict[int, int]:
        """Return the last event of each line that the page had shown."""
        pairs = (pair.split(":") for pair in self.cleaned_data["seen"].split(",") if pair)
        return {int(line): int(sequence) for line, sequence in pairs}

    def clean(self) -> dict[str, Any]:
        """Read the buttons: 'the same as the tap water' needs the tap water's own reading."""
        cleaned = super().clean()
        if self.data.get(SAME) and self.of.reads_rinse and not cleaned.get("tap_water_ph"):
            self.add_error("tap_water_ph", "Read the tap water itself first, and write it here.")
        band = self.data.get(BAND, "")
        if band and self.of.ends is not None and band not in dict(self.bands()):
            raise ValidationError("This band is not on the strip's chart. Write what was read.")
        return cleaned

    def bands(self) -> list[tuple[str, str]]:
        """Return the bands between the blocks of the strip in use: value and words."""
        if self.used is None or self.of.ends is None:
            return []
        blocks = sorted(Decimal(str(block)) for block in self.used.chemical.strip_blocks)
        pairs = [
            (f"{low:f}-{high:f}", f"{low:f} to {high:f} ppm") for low, high in pairwise(blocks)
        ]
        return [*pairs, (f"{blocks[-1]:f}-", f"{blocks[-1]:f} ppm or more")] if blocks else []

    def record(self) -> StageRecord:
        """Return what was sent, as the service takes it."""
        passed = self.data.get(PASSED)
        return StageRecord(
            ended=self._ended(),
            begun=self._begun(),
            tap_water_ph=self.cleaned_data.get("tap_water_ph"),
            outlet_ph={each.key: self._outlet_ph(each) for each in self.outlets},
            passed={"yes": True, "no": False}.get(str(passed)),
        )

    def _outlet_ph(self, outlets: Outlets) -> tuple[Reading, ...]:
        if self.data.get(SAME):
            return (self.cleaned_data["tap_water_ph"],) * outlets.count
        read = (self.cleaned_data.get(name) for name in outlets.fields)
        return tuple(each for each in read if each is not None)

    def _ended(self) -> Measured:
        if self.of.ends is None:
            return Measured()
        values = self.cleaned_data
        names = ("strength", "temperature", "ph", "hardness", "flow", BAND)
        temperature, hardness, flow = (values.get(n) for n in ("temperature", "hardness", "flow"))
        return Measured(
            strength=self._strength(),
            temperature_degc=temperature.value if temperature else None,
            ph=values.get("ph"),
            hardness_mg_per_l=hardness.value if hardness else None,
            flow_l_min=flow.value if flow else None,
            typed={name: self.data[name] for name in names if self.data.get(name)},
        )

    def _strength(self) -> Reading | None:
        band = self.data.get(BAND, "")
        if band:
            low, _, high = band.partition("-")
            return Reading(Decimal(low), Decimal(high) if high else None, Means.STRIP)
        strength = self.cleaned_data.get("strength")
        if strength is not None and self.dosed and self.data.get("strength") == self.dosed:
            return Reading(strength.lowest, strength.highest, Means.DOSED)
        return strength

    def _begun(self) -> Measured:
        step = self.of.begins
        if step is None:
            return Measured()
        chosen = self.cleaned_data.get("chemical", "")
        only = step.contacts[0].application.value if len(step.contacts) == 1 else ""
        return Measured(
            chemical=next((each for each in self.batches if str(each.pk) == chosen), None),
            is_hot_water=chosen == HOT_WATER,
            application=self.cleaned_data.get("application", only),
        )
