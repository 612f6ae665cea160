"""Forms of a recall: what it starts from, what was found, what is still to do, how it ended."""

from decimal import Decimal
from typing import Any

from django import forms
from django.db.models import QuerySet

from kegsafe.frame.layout import FieldsHelper, PageFormHelper, Part
from kegsafe.frame.moment_fields import MomentField
from kegsafe.frame.quantity_fields import QuantityField
from kegsafe.recalls.models import RecallItem
from kegsafe.stock.models import Lot


class LotsField(forms.ModelMultipleChoiceField):
    """Lots to tick, each told apart by what is written on it."""

    widget = forms.CheckboxSelectMultiple

    def label_from_instance(self, obj: Lot) -> str:
        """Return ingredient, our code, the supplier's code and the supplier."""
        said = [str(obj)]
        if obj.supplier_lot_code:
            said.append(f"supplier's code {obj.supplier_lot_code}")
        if obj.delivery_id:
            said.append(obj.delivery.supplier.name)
        return ", ".join(said)


class BeginForm(forms.Form):
    """A recall or a drill to begin."""

    lots = LotsField(
        Lot.objects.none(),
        label="Lots it starts from",
        error_messages={"required": "Tick at least one lot."},
    )
    reason = forms.CharField(
        max_length=150,
        help_text="What is wrong, in words that may stand on a label: 'glass found in the syrup'.",
        error_messages={"required": "Say what is wrong: a few words are enough."},
    )
    notice = forms.CharField(
        label="Supplier's notice",
        max_length=160,
        required=False,
        help_text="Its number and date, where there is one.",
    )
    is_drill = forms.TypedChoiceField(
        label="What it is",
        choices=(
            ("recall", "A recall: everything the lots went into goes on hold at once"),
            ("drill", "A drill: the same list and the same clock, and nothing is held"),
        ),
        coerce=lambda chosen: chosen == "drill",
        widget=forms.RadioSelect,
        error_messages={"required": "Choose whether this is a recall or a drill."},
    )

    def __init__(self, *args: Any, lots: QuerySet[Lot], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["lots"].queryset = lots
        self.helper = FieldsHelper(
            self,
            Part("What it starts from", "lots"),
            Part("Why", "reason", "notice"),
            Part("Recall or drill", "is_drill"),
        )


class SettleForm(forms.Form):
    """What looking for one piece came to."""

    outcome = forms.TypedChoiceField(
        label="Is it there?",
        choices=(("found", "Found"), ("not_found", "Not found")),
        coerce=lambda chosen: chosen == "found",
        widget=forms.RadioSelect,
        error_messages={"required": "Say whether it was found."},
    )
    note = forms.CharField(
        max_length=200,
        required=False,
        help_text="Where it was, who looked. Where nothing was found: where you looked.",
    )

    def __init__(self, *args: Any, item: RecallItem, shown_amount: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["amount_found"] = QuantityField(
            kind=item.kind,
            label="How much is there",
            required=False,
            minimum=Decimal(0),
            help_text=f"At most {shown_amount}: what the records say. Weigh or measure it.",
        )
        part = ["outcome", "amount_found"]
        if not item.recall.is_drill:
            self.fields["disposition"] = forms.ChoiceField(
                label="What became of it",
                choices=(("", "Not said"), *RecallItem.Disposition.choices),
                required=False,
                help_text="Discarded or returned takes it out of stock or out of its keg.",
            )
            part.append("disposition")
        self.helper = PageFormHelper(self, *part, "note", act="Record what was found")

    def values(self) -> dict[str, Any]:
        """Return what the service takes."""
        typed = self.cleaned_data
        amount = typed["amount_found"]
        return {
            "found": typed["outcome"],
            "amount_found": None if amount is None else amount.value,
            "disposition": typed.get("disposition", ""),
            "note": typed["note"],
        }


class TaskForm(forms.Form):
    """One more task."""

    what = forms.CharField(label="To do", max_length=250)
    person = forms.CharField(label="Who", max_length=80, required=False)
    due_at = MomentField(label="Until")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Set the task")


class DoneForm(forms.Form):
    """A task that was done."""

    note = forms.CharField(
        max_length=200, required=False, help_text="Whom you spoke to, what was said."
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Record it as done")


class CloseForm(forms.Form):
    """How it ended."""

    note = forms.CharField(
        label="How it ended",
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="What was wrong, what came back, what is missing, who was told.",
        error_messages={"required": "Say how it ended: this is what an inspector reads first."},
    )

    def __init__(self, *args: Any, is_drill: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not is_drill:
            self.fields["release"] = forms.BooleanField(
                label="Release what is still on hold by this recall",
                required=False,
                help_text="Only where it proved to be in order. Otherwise it stays on hold.",
            )
        self.helper = PageFormHelper(self, act="Close it")
