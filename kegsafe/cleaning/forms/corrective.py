"""What was done about a cycle that did not count."""

from typing import Any

from django import forms

from kegsafe.cleaning.models import CorrectiveAction
from kegsafe.frame.layout import PageFormHelper, Part
from kegsafe.frame.moment_fields import PastMomentField


class CorrectiveActionForm(forms.ModelForm):
    """Found, cause, done, drinks affected: in the order an inspector reads."""

    acted_at = PastMomentField(label="When")

    class Meta:
        model = CorrectiveAction
        fields = ("found", "cause", "done", "product_affected")
        widgets = {
            name: forms.Textarea(attrs={"rows": 2})
            for name in ("found", "cause", "done", "product_affected")
        }
        help_texts = {
            "cause": "If nobody knows yet, say so and who finds out.",
            "product_affected": "Held, discarded, or why none was: name each drink listed above.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(
            self,
            Part("What was wrong", "found", "cause"),
            Part("What was done", "done", "product_affected", "acted_at"),
            act="Record the corrective action",
        )
