"""Which labels to print, and on what."""

from collections.abc import Sequence

from django import forms

from kegsafe.frame.layout import PageFormHelper, Part
from kegsafe.reports.label_stock import STOCKS, USUAL_STOCK, LabelStock

_MOST_PER_PAGE = max(stock.per_page for stock in STOCKS.values())


class LabelsForm(forms.Form):
    """Tick kegs and choose the stock. Sent by GET: printing changes nothing on record."""

    fill = forms.TypedMultipleChoiceField(
        label="Kegs",
        coerce=int,
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": "Tick at least one keg.",
            "invalid_choice": "One of the kegs you ticked holds that drink no more. Tick again.",
        },
    )
    stock = forms.ChoiceField(
        label="Printed on",
        choices=[(stock.key, stock.name) for stock in STOCKS.values()],
        widget=forms.RadioSelect,
        error_messages={"required": "Say what the labels are printed on."},
    )
    first = forms.IntegerField(
        label="First free label on the sheet",
        required=False,
        help_text=f"1 for a new sheet, up to {_MOST_PER_PAGE}. Not used on a roll.",
    )

    def __init__(
        self, *args, kegs: Sequence[tuple[int, str]], remembered: LabelStock, **kwargs
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["fill"].choices = kegs
        self.fields["stock"].initial = remembered.key
        self.helper = PageFormHelper(
            self,
            Part("Which kegs", "fill"),
            Part("On what", "stock", "first"),
            act="Show the labels",
        )
        self.helper.form_method = "get"
        self.helper.disable_csrf = True
        self.helper.attrs = {"novalidate": "novalidate"}

    def clean_first(self) -> int:
        """Return the first free label; 1 when left blank."""
        first = self.cleaned_data["first"]
        if first is None:
            return 1
        if not 1 <= first <= _MOST_PER_PAGE:
            raise forms.ValidationError(
                f"{first} is no place on the sheet. Write 1 to {_MOST_PER_PAGE}, "
                "counted from the top left, line by line."
            )
        return first


def stock_called(key: str | None) -> LabelStock | None:
    """Return the stock of that key, None where there is none such."""
    return STOCKS.get(key or "")


def remembered_stock(session) -> LabelStock:
    """Return the stock last printed on from this browser, the large roll at first."""
    return stock_called(session.get("label_stock")) or USUAL_STOCK
