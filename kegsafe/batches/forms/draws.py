"""The lots that go into a batch or a preparation: one row each, proposed where it can be."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone

from kegsafe.batches.forms.amounts import AmountField, read_amount
from kegsafe.batches.lot_choices import LotChoice, propose
from kegsafe.batches.services import NewDraw
from kegsafe.frame.layout import FieldsHelper, SideBySide
from kegsafe.quantities import (
    Kind,
    Measured,
    Quantity,
    UnitSystem,
    UnreadableQuantity,
    in_unit,
    read,
    rounded_as_measured,
    write,
    write_exact,
)
from kegsafe.quantities.writing import plain
from kegsafe.stock.models import Lot
from kegsafe.stock.services.drawing import KIND_OF

MOST_ROWS = 60
# 1 gal 75 fl oz is how a jug is read, and 203 fl oz how an amount is written.
_ONE_UNIT = {Kind.VOLUME: "fl oz", Kind.MASS: "oz"}
_FREE_ROWS = 3


@dataclass(frozen=True, slots=True)
class WantedAmount:
    """An amount of an ingredient that a recipe or an earlier preparation asks for."""

    ingredient: int
    name: str
    amount: Decimal
    asked_text: str
    measure: str


@dataclass(slots=True)
class Shelf:
    """The lots there are: those that may be drawn by key, and all of them for their reasons."""

    choices: Sequence[LotChoice]
    units: UnitSystem
    by_key: Mapping[str, LotChoice] = field(init=False)

    def __post_init__(self) -> None:
        self.by_key = {str(each.lot.pk): each for each in self.choices}

    @property
    def refused(self) -> list[LotChoice]:
        """Return the lots that are there and may not be drawn."""
        return [each for each in self.choices if not each.may_be_drawn]

    def options(self, ingredient: str = "") -> list[tuple[str, Any]]:
        """Return the lots to offer: of one ingredient, or of all in groups."""
        groups: dict[str, list[tuple[str, str]]] = {}
        for each in self.choices:
            if each.may_be_drawn and ingredient in ("", str(each.lot.ingredient_id)):
                words = self._words(each)
                if not ingredient:
                    words = f"{each.lot.ingredient.name} {words}"
                option = (str(each.lot.pk), words)
                groups.setdefault(each.lot.ingredient.name, []).append(option)
        if ingredient:
            return [option for options in groups.values() for option in options]
        return sorted(groups.items())

    def shortage(self, wanted: WantedAmount) -> str:
        """Return how much of what is asked for no lot holds; '' where there is enough."""
        there = sum(part for _, part in propose(self.choices, wanted.ingredient, wanted.amount))
        missing = wanted.amount - there
        return write(missing, KIND_OF[wanted.measure], self.units) if missing > 0 else ""

    def name_of(self, ingredient: str) -> str:
        """Return what an ingredient is called, '' where no lot of it is there."""
        lots = (each.lot for each in self.choices)
        return next(
            (lot.ingredient.name for lot in lots if str(lot.ingredient_id) == ingredient), ""
        )

    def _words(self, choice: LotChoice) -> str:
        lot = choice.lot
        left = write(lot.amount_left, KIND_OF[lot.measure], self.units)
        ends = f", ends {timezone.localtime(choice.ends_at):%a %d %b}" if choice.ends_at else ""
        return f"{lot.code}: {left} left{ends}"


class DrawForm(forms.Form):
    """One lot and the amount taken from it."""

    use_required_attribute = False

    ingredient = forms.CharField(required=False, widget=forms.HiddenInput)
    lot = forms.ChoiceField(required=False)
    amount = AmountField(required=False)

    def __init__(self, *args: Any, shelf: Shelf, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.shelf = shelf
        wanted = self["ingredient"].value() or ""
        self.fields["lot"].choices = [("", "No lot"), *shelf.options(wanted)]
        self.fields["lot"].label = shelf.name_of(wanted) or "Lot"
        self.helper = FieldsHelper(self, "ingredient", SideBySide("lot", "amount"))

    def clean(self) -> dict[str, Any]:
        """Hold lot and amount together, and the amount to the lot's kind and to what is left."""
        cleaned = super().clean()
        choice, typed = self.shelf.by_key.get(cleaned.get("lot") or ""), cleaned.get("amount")
        if choice and not typed:
            self.add_error("amount", "Enter how much was taken, or choose no lot.")
        if typed and not choice and "lot" not in self.errors:
            self.add_error("lot", f'Choose the lot that "{typed}" was taken from.')
        if choice and typed:
            cleaned["amount"] = read_amount(self, "amount", choice.lot.measure)
            self._check_left(choice.lot, cleaned["amount"])
        return cleaned

    def new_draw(self) -> NewDraw | None:
        """Return the row as the services take it; None where nothing was taken."""
        choice = self.shelf.by_key.get(self.cleaned_data.get("lot") or "")
        amount = self.cleaned_data.get("amount")
        return NewDraw(choice.lot, amount.value, amount.typed) if choice and amount else None

    def _check_left(self, lot: Lot, amount: Quantity | None) -> None:
        if amount is not None and amount.value > lot.amount_left:
            left = write(lot.amount_left, KIND_OF[lot.measure], self.shelf.units)
            self.add_error(
                "amount",
                f'"{amount.typed}" is more than lot {lot.code} holds: {left} left. Take the rest '
                "from another lot.",
            )


class _Rows(forms.BaseFormSet):
    """The draws of one batch or preparation; rows may stay empty."""

    def new_draws(self) -> list[NewDraw]:
        """Return the rows that were filled in."""
        return [draw for row in self if (draw := row.new_draw()) is not None]


def draw_rows(
    data: Any, shelf: Shelf, *, proposed: Sequence[Mapping[str, Any]] = (), more: bool = False
) -> forms.BaseFormSet:
    """Return the rows: what is proposed and some free ones, or what was typed.

    With `more` nothing is judged yet and further free rows stand below what was typed.
    """
    initial = _typed(data) if more else proposed
    factory = forms.formset_factory(
        DrawForm,
        formset=_Rows,
        extra=_FREE_ROWS if more or not initial else 1,
        max_num=MOST_ROWS,
        absolute_max=MOST_ROWS,
    )
    return factory(
        None if more else data, initial=initial, prefix="draw", form_kwargs={"shelf": shelf}
    )


def proposed_rows(wanted: Iterable[WantedAmount], shelf: Shelf) -> list[dict[str, Any]]:
    """Return a row for each lot to take from, the oldest first; an empty one where none is there.

    Amounts are what the bar can measure, and never more than the lot holds.
    """
    rows: list[dict[str, Any]] = []
    for each in wanted:
        found = propose(shelf.choices, each.ingredient, each.amount)
        ingredient = {"ingredient": str(each.ingredient)}
        rows += [
            {**ingredient, "lot": str(choice.lot.pk), "amount": _measured(choice.lot, part, shelf)}
            for choice, part in found
        ] or [ingredient]
    return rows


def _measured(lot: Lot, amount: Decimal, shelf: Shelf) -> str:
    """What to measure: all that is left is all of it, and nothing is rounded beyond that."""
    kind = KIND_OF[lot.measure]
    measured = rounded_as_measured(amount, kind, shelf.units)
    if measured.value <= lot.amount_left and amount < lot.amount_left:
        return readable(measured, kind)
    return _all_of(lot)


def readable(measured: Measured, kind: Kind) -> str:
    """Return an amount to measure as a field reads it: one number, where the jug shows two."""
    try:
        read(measured.text, kind)
    except UnreadableQuantity:
        word = _ONE_UNIT[kind]
        number = in_unit(Quantity(kind, measured.value), word).quantize(Decimal("0.01"))
        return f"{plain(number)} {word}"
    return measured.text


def _all_of(lot: Lot) -> str:
    """Return all that is left of a lot, exactly, as somebody would type it."""
    return write_exact(Quantity(KIND_OF[lot.measure], lot.amount_left.normalize()))


def _typed(data: Mapping[str, Any]) -> list[dict[str, str]]:
    """Return what stands in the rows that were begun, unjudged."""
    total = str(data.get("draw-TOTAL_FORMS", "0"))
    count = min(int(total) if total.isdecimal() and len(total) < 4 else 0, MOST_ROWS)
    names = ("ingredient", "lot", "amount")
    rows = [{name: data.get(f"draw-{row}-{name}", "") for name in names} for row in range(count)]
    return [row for row in rows if any(row.values())]
