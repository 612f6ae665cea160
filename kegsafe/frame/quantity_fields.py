"""The form field that reads a quantity and keeps what was typed."""

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from kegsafe.quantities import (
    ROWS,
    Kind,
    Quantity,
    UnitSystem,
    UnreadableQuantity,
    read,
    write,
    write_exact,
)


class QuantityField(forms.CharField):
    """A number with its unit, as people type it. Cleans to a `Quantity`, or None when empty.

    kind : what belongs in the field; a tuple where several kinds are welcome
    minimum, maximum : in the kind's base unit, both allowed; for one kind only
    units : the venue's units, for the sentence about a minimum or maximum

    Error codes: `required`, those of the `UnreadableQuantity` classes
    (`missing_unit`, `wrong_kind`, ...), `below_minimum`, `above_maximum`.
    Raises ValueError where a minimum or maximum meets several kinds.
    """

    def __init__(
        self,
        *,
        kind: Kind | tuple[Kind, ...],
        minimum: Decimal | None = None,
        maximum: Decimal | None = None,
        units: UnitSystem = "metric",
        **kwargs: Any,
    ) -> None:
        if isinstance(kind, tuple) and not (minimum is None and maximum is None):
            raise ValueError("a minimum or maximum needs one kind: base units differ")
        self.kind = kind
        self.minimum = minimum
        self.maximum = maximum
        self.units: UnitSystem = units
        kwargs.setdefault("help_text", f"For example {_examples(kind)}.")
        super().__init__(**kwargs)

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        """A text keyboard, as units need letters, and no memory of other people's figures."""
        attrs = {"inputmode": "text", "autocomplete": "off", "spellcheck": "false"}
        return {**super().widget_attrs(widget), **attrs, "autocapitalize": "off"}

    def prepare_value(self, value: Any) -> Any:
        """What was typed; a quantity nobody typed is written out in its base unit."""
        return (value.typed or write_exact(value)) if isinstance(value, Quantity) else value

    def clean(self, value: Any) -> Quantity | None:
        """The quantity, None for an empty field that may be empty, or a ValidationError."""
        typed = super().clean(value)
        if not typed:
            return None
        quantity = self._read(typed)
        self._check_limits(quantity)
        return quantity

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Whether the text differs from what was typed before."""
        return super().has_changed(self.prepare_value(initial), data)

    def _read(self, typed: str) -> Quantity:
        try:
            return read(typed, self.kind)
        except UnreadableQuantity as trouble:
            raise ValidationError(str(trouble), code=trouble.code) from None

    def _check_limits(self, quantity: Quantity) -> None:
        if self.minimum is not None and quantity.value < self.minimum:
            raise self._limit_error(quantity, "less", "least", self.minimum, "below_minimum")
        if self.maximum is not None and quantity.value > self.maximum:
            raise self._limit_error(quantity, "more", "most", self.maximum, "above_maximum")

    def _limit_error(
        self, quantity: Quantity, side: str, end: str, limit: Decimal, code: str
    ) -> ValidationError:
        allowed = write(limit, quantity.kind, self.units, both=True)
        sentence = f'"{quantity.typed}" is {side} than this field takes. Write at {end} {allowed}.'
        return ValidationError(sentence, code=code)


def as_typed(value: Decimal | None, kind: Kind, units: UnitSystem) -> str | None:
    """Return 19 L rather than 19000 ml, but never a rounded value: it would be saved as new."""
    if value is None:
        return None
    exact = Quantity(kind, value)
    systems: tuple[UnitSystem, ...] = (units, "metric", "us")
    texts = (write(value, kind, system) for system in systems)
    return next((text for text in texts if read(text, kind) == exact), write_exact(exact))


def _examples(kind: Kind | tuple[Kind, ...]) -> str:
    if isinstance(kind, tuple):
        return " or ".join(ROWS[each].clear_example or ROWS[each].examples[0] for each in kind)
    return " or ".join(ROWS[kind].examples)
