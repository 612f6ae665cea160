"""What the venue says of one step of its work."""

from typing import Any

from django import forms

from kegsafe.frame.layout import PageFormHelper, Part
from kegsafe.inspection.haccp import heading
from kegsafe.ledger.forms import AmendForm
from kegsafe.rules.haccp import TEXTS

_LONGEST = 1_200


def _text(name: str) -> forms.CharField:
    return forms.CharField(
        label=heading(name), max_length=_LONGEST, widget=forms.Textarea(attrs={"rows": 3})
    )


class HaccpFields(forms.Form):
    """The seven principles, asked of one step."""

    hazards = _text("hazards")
    control = _text("control")
    is_critical = forms.BooleanField(label="This is a critical control point", required=False)
    critical_limits = _text("critical_limits")
    monitoring = _text("monitoring")
    corrective_action = _text("corrective_action")
    verification = _text("verification")
    records = _text("records")


class HaccpStepForm(AmendForm, HaccpFields):
    """A step of the summary to amend."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(
            self,
            Part("What can go wrong, and what is done", "hazards", "control", "is_critical"),
            Part("How it is kept in hand", *TEXTS[2:]),
            Part("The change", "reason", "seen"),
            act="Amend the step",
        )
