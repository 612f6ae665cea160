"""Forms for a check, an interval, a leak test and a file."""

from typing import Any

from django import forms

from kegsafe.frame.documents import DocumentField
from kegsafe.frame.layout import PageFormHelper, Part, SideBySide
from kegsafe.frame.moment_fields import PastMomentField
from kegsafe.frame.quantity_fields import QuantityField
from kegsafe.pressure.models import Document, OwnInterval
from kegsafe.quantities import Kind, in_unit
from kegsafe.rules.pressure.checks import CheckRule, Result, points_of

_RESULTS = (
    (Result.PASS.value, "Passed"),
    (Result.FAIL.value, "Failed"),
    (Result.NOT_APPLICABLE.value, "Not applicable"),
)


PHOTOGRAPH_HELP = "JPEG or PNG, of at most 10 MB. No people in it."


class CheckForm(forms.Form):
    """One check, point by point: nothing is ticked before somebody has looked."""

    comment = forms.CharField(
        max_length=400, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )
    competent_person = forms.CharField(
        max_length=120, error_messages={"required": "Name the competent person who made it."}
    )
    report = forms.CharField(
        label="Report: number or date",
        max_length=120,
        error_messages={"required": "Give the number or the date of the report."},
    )
    checked_at = PastMomentField(label="When")
    file = DocumentField(label="Photograph", required=False, help_text=PHOTOGRAPH_HELP)

    def __init__(self, *args: Any, rule: CheckRule, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.points = points_of(rule.kind, rule.check)
        for point in self.points:
            self.fields[point.key] = forms.ChoiceField(
                label=point.text,
                choices=_RESULTS,
                widget=forms.RadioSelect,
                error_messages={"required": "Look, and say passed, failed or not applicable."},
            )
        formal = ("competent_person", "report") if rule.is_formal else ()
        if not formal:
            del self.fields["competent_person"], self.fields["report"]
        self.helper = PageFormHelper(
            self,
            Part("Look at", *(point.key for point in self.points)),
            Part("Who and when", *formal, "comment", "file", "checked_at"),
            act="Record the check",
        )

    def record_values(self) -> dict[str, Any]:
        """Return what the service takes."""
        typed = {**self.cleaned_data}
        results = {point.key: typed.pop(point.key) for point in self.points}
        photograph = typed.pop("file")
        return {**typed, "results": results, "photograph": photograph}


class IntervalForm(forms.Form):
    """How often a check of this item comes round, and on whose word."""

    months = forms.IntegerField(min_value=1, max_value=240, help_text="For example 24.")
    basis = forms.ChoiceField(
        label="On whose word", choices=OwnInterval.Basis.choices, widget=forms.RadioSelect
    )
    reference = forms.CharField(
        label="Document", max_length=120, required=False, help_text="Title and date of it."
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Set the interval")


class DocumentForm(forms.Form):
    """A photograph, certificate or report to keep."""

    kind = forms.ChoiceField(label="What it is", choices=Document.Kind.choices)
    file = DocumentField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Keep the file")
        # A file cannot be put back into a form, so no draft of it is kept.
        del self.helper.attrs["data-keeps-draft"]


class PhotographForm(forms.Form):
    """One more photograph of what a check found."""

    file = DocumentField(label="Photograph", help_text=PHOTOGRAPH_HELP)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Keep the photograph")
        del self.helper.attrs["data-keeps-draft"]


class LeakForm(forms.Form):
    """A pressure-decay test: gas shut in, read, left, read again."""

    gas_volume = QuantityField(
        kind=Kind.VOLUME, help_text="All that is shut in, for example 19 L. Gas alone, no drink."
    )
    start_pressure = QuantityField(kind=Kind.GAUGE_PRESSURE, help_text="For example 3.4 bar.")
    start_temperature = QuantityField(kind=Kind.TEMPERATURE, help_text="For example 20 °C.")
    end_pressure = QuantityField(kind=Kind.GAUGE_PRESSURE, help_text="For example 3.35 bar.")
    end_temperature = QuantityField(kind=Kind.TEMPERATURE, help_text="For example 19.5 °C.")
    time = QuantityField(kind=Kind.TIME, help_text="Between the readings, for example 30 min.")
    gauge_error = QuantityField(
        kind=Kind.PRESSURE_DIFFERENCE,
        help_text="The smallest step the gauge shows, for example 0.05 bar.",
    )
    limit = QuantityField(
        kind=Kind.LEAK_RATE,
        label="Limit of the competent person",
        required=False,
        help_text="For example 0.5 g/h. Left out: a drop that the gauge can show fails.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(
            self,
            Part("What was shut in", "gas_volume"),
            Part(
                "The two readings",
                SideBySide("start_pressure", "start_temperature"),
                SideBySide("end_pressure", "end_temperature"),
                "time",
            ),
            Part("What it is held against", "gauge_error", "limit"),
            act="Record the leak test",
        )

    def readings(self, air_bar_abs: float) -> dict[str, float]:
        """Return the readings in the units of the science: gauge plus the air of that moment."""
        typed = self.cleaned_data
        return {
            "volume_l": float(in_unit(typed["gas_volume"], "L")),
            "start_bar_abs": _bar(typed["start_pressure"]) + air_bar_abs,
            "start_degc": float(typed["start_temperature"].value),
            "end_bar_abs": _bar(typed["end_pressure"]) + air_bar_abs,
            "end_degc": float(typed["end_temperature"].value),
            "hours": float(in_unit(typed["time"], "h")),
            "pressure_error_bar": float(typed["gauge_error"].value) / 100_000,
        }


def _bar(gauge: Any) -> float:
    return float(gauge.value) / 100_000
