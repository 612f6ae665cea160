"""Forms for how long an ingredient keeps, and for a competent person's judgement."""

from typing import Any

from django import forms

from kegsafe.frame.layout import PageFormHelper, Part, SideBySide
from kegsafe.ledger.forms import AmendForm, ReasonForm
from kegsafe.quantities import Kind
from kegsafe.stock.forms.fields import day_field, measured_field, value_of
from kegsafe.stock.models import IngredientShelfLife, ProductAssessment, ShelfLifeRule
from kegsafe.venues.models import Venue

_LONGEST = 3_660  # days or hours; ten years is longer than anything in a bar is dated


class ShelfLifeTermsForm(forms.Form):
    """How long something keeps, on what basis, and who answers for it."""

    counted_from: tuple[str, ...] = ()  # the field that names the event, where one is chosen

    length = forms.IntegerField(
        label="Keeps for",
        min_value=1,
        max_value=_LONGEST,
        help_text="A whole number. In days, the day of the event is day 1.",
    )
    unit = forms.ChoiceField(label="Days or hours", choices=[("days", "Days"), ("hours", "Hours")])
    held_at_or_below = measured_field(Kind.TEMPERATURE, "Held at or below")
    basis = forms.ChoiceField(label="On what basis", choices=ShelfLifeRule.Basis.choices)
    reference = forms.CharField(
        max_length=200, required=False, help_text="The label's words, the clause, the study."
    )
    approved_by = forms.CharField(
        label="Who answers for it",
        max_length=120,
        required=False,
        help_text="Needed for a house rule and for a study.",
    )
    approved_on = day_field(label="Since when", required=False)
    assessment = forms.ModelChoiceField(
        ProductAssessment.objects.none(),
        required=False,
        empty_label="None",
        help_text="The judgement it rests on, where it outlasts the code's day count.",
    )

    def __init__(self, *args: Any, venue: Venue, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["assessment"].queryset = venue.assessments.all()
        self.helper = PageFormHelper(
            self,
            Part(
                "How long",
                *self.counted_from,
                SideBySide("length", "unit"),
                "held_at_or_below",
            ),
            Part(
                "On whose word",
                "basis",
                "reference",
                SideBySide("approved_by", "approved_on"),
                "assessment",
            ),
            act="Set the shelf life",
        )

    def record_values(self) -> dict[str, Any]:
        """Return the rule by the service's names."""
        typed = self.cleaned_data
        names = (
            *self.counted_from,
            "basis",
            "reference",
            "approved_by",
            "approved_on",
            "assessment",
        )
        return {
            **{name: typed[name] for name in names},
            typed["unit"]: typed["length"],
            "held_at_or_below_degc": value_of(typed["held_at_or_below"]),
        }


class ShelfLifeForm(ShelfLifeTermsForm):
    """How long an ingredient keeps after an event."""

    counted_from = ("after",)

    after = forms.ChoiceField(label="Counted from", choices=IngredientShelfLife.After.choices)


class WithdrawForm(ReasonForm):
    """Why a shelf life no longer holds."""


class AssessmentForm(forms.Form):
    """What a competent person judged, on what evidence."""

    reference = forms.CharField(max_length=160, help_text="Document or report number.")
    scope = forms.CharField(
        label="What it covers", max_length=200, help_text="Which product, made how."
    )
    competent_person = forms.CharField(max_length=120)
    role = forms.CharField(max_length=120, help_text="Such as food technologist.")
    assessed_on = day_field(label="Assessed on")
    expires_on = day_field(label="Ends on", required=False)
    measured_ph = measured_field(Kind.PH, "Measured pH")
    measured_water_activity = measured_field(Kind.WATER_ACTIVITY, "Measured water activity")
    study = forms.CharField(
        label="Laboratory study",
        max_length=200,
        required=False,
        help_text="Where it does not rest on pH and water activity.",
    )
    concludes_not_tcs = forms.BooleanField(
        label="Concludes that no time/temperature control is needed", required=False
    )
    maximum_days = forms.IntegerField(
        min_value=1, max_value=_LONGEST, required=False, help_text="The longest it allows, in days."
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(
            self,
            Part("The document", "reference", "scope"),
            Part(
                "Who judged",
                SideBySide("competent_person", "role"),
                SideBySide("assessed_on", "expires_on"),
                sentence="The judgement is theirs. It is repeated here with their name.",
            ),
            Part(
                "On what evidence",
                SideBySide("measured_ph", "measured_water_activity"),
                "study",
                sentence="Either both measured values, or a study.",
            ),
            Part("What it says", "concludes_not_tcs", "maximum_days"),
            act="Record the assessment",
        )

    def record_values(self) -> dict[str, Any]:
        """Return the assessment by the service's names."""
        measured = ("measured_ph", "measured_water_activity")
        return {
            **self.cleaned_data,
            **{name: value_of(self.cleaned_data[name]) for name in measured},
        }


class AssessmentAmendForm(AmendForm):
    """What was copied wrongly from the document, and the day it ends."""

    reference = forms.CharField(max_length=160)
    scope = forms.CharField(label="What it covers", max_length=200)
    expires_on = day_field(
        label="Ends on",
        required=False,
        help_text="From the day after, whatever rests on it is judged without it.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(
            self,
            Part("The document", "reference", "scope", "expires_on"),
            Part("The change", "reason", "seen"),
            act="Amend the assessment",
        )
