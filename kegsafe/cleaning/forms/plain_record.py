"""Forms for recording a clean, amending one, and finding one."""

from collections.abc import Sequence
from typing import Any

from django import forms

from kegsafe.cleaning.models import CleaningRecord
from kegsafe.equipment.models import Keg, Line
from kegsafe.frame.layout import PageFormHelper, Part
from kegsafe.frame.moment_fields import PastMomentField
from kegsafe.ledger.forms import AmendForm

Verification = CleaningRecord.Verification


class CleanFields(forms.Form):
    """What was done, and how it was checked."""

    method = forms.CharField(
        label="What was done",
        max_length=200,
        help_text="Steps, chemical and strength, contact time: as it was done.",
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    sanitised = forms.BooleanField(label="Sanitised after the clean", required=False)
    is_allergen_clean = forms.BooleanField(
        label="This was an allergen clean",
        required=False,
        help_text="By the venue's procedure for removing allergens. A sanitise alone is not one.",
    )
    verification = forms.ChoiceField(
        label="How it was checked",
        choices=Verification.choices,
        initial=Verification.NONE,
        widget=forms.RadioSelect,
        help_text="Not verified: the last drink's allergens stay on record for this keg or line.",
    )
    cleaned_at = PastMomentField(label="When")

    DONE = Part("What was done", "method", "sanitised", "is_allergen_clean")
    CHECKED = Part("How it was checked", "verification", "cleaned_at")


class CleanForm(CleanFields):
    """One clean of as many kegs and lines as were cleaned alike."""

    items = forms.MultipleChoiceField(
        label="Kegs and lines",
        widget=forms.CheckboxSelectMultiple,
        help_text="Tick all that were cleaned in the same way; each gets a record of its own.",
        error_messages={
            "required": "Tick at least one keg or line.",
            "invalid_choice": "One of these cannot be cleaned now: it still holds a drink, or is "
            "not on the list. Look at the list again.",
        },
    )

    def __init__(self, *args: Any, kegs: Sequence[Keg], lines: Sequence[Line], **kwargs: Any):
        super().__init__(*args, **kwargs)
        self._items = {f"keg-{keg.pk}": keg for keg in kegs if not keg.held_drink}
        self._items |= {f"line-{line.pk}": line for line in lines if not line.held_drink}
        self.fields["items"].choices = [(key, str(item)) for key, item in self._items.items()]
        what = Part("What was cleaned", "items")
        self.helper = PageFormHelper(self, what, self.DONE, self.CHECKED, act="Record the clean")

    def clean_items(self) -> list[Keg | Line]:
        """Return the kegs and lines themselves."""
        return [self._items[key] for key in self.cleaned_data["items"]]


class CleanAmendForm(AmendForm, CleanFields):
    """A change to the record of a clean."""

    def __init__(self, *args: Any, record: CleaningRecord, **kwargs: Any) -> None:
        super().__init__(*args, record=record, **kwargs)
        self.fields["cleaned_at"].help_text = ""
        self.fields["cleaned_at"].required = True
        change = Part("The change", "reason", "seen")
        self.helper = PageFormHelper(self, self.DONE, self.CHECKED, change, act="Amend the record")


class FindCleanForm(forms.Form):
    """What to look for in the cleaning log."""

    item = forms.ChoiceField(label="Keg or line", required=False)
    q = forms.CharField(label="Look for", required=False, max_length=80)

    def __init__(self, *args: Any, kegs: Sequence[Keg], lines: Sequence[Line], **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.fields["item"].choices = [
            ("", "All"),
            *((f"keg-{keg.pk}", str(keg)) for keg in kegs),
            *((f"line-{line.pk}", str(line)) for line in lines),
        ]

    def criteria(self) -> dict[str, Any]:
        """Return the words of `cleaning_log`; what cannot be read narrows nothing."""
        if not self.is_valid():
            return {}
        kind, _, pk = self.cleaned_data["item"].partition("-")
        chosen = {kind: int(pk)} if kind else {}
        return {**chosen, "query": self.cleaned_data["q"]}
