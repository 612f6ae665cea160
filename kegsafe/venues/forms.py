"""Forms for the venue, its limits and its people."""

from decimal import Decimal
from functools import cache
from typing import Any
from zoneinfo import available_timezones

from django import forms
from django.contrib.auth import password_validation
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError

from kegsafe.frame.layout import PageFormHelper, Part, SideBySide
from kegsafe.frame.moment_fields import DayField
from kegsafe.ledger.forms import AmendForm, ReasonForm
from kegsafe.quantities import Kind, UnreadableQuantity, read
from kegsafe.rules.cleaning.intervals import regions
from kegsafe.rules.codes import WORD, Rule, codes, rules
from kegsafe.rules.cold.temperature_log import to_warmer_hundredth
from kegsafe.venues.models import Membership, Role, Units, Venue


def time_zones() -> list[tuple[str, str]]:
    """Return the time zones that are named for a place."""
    named = (name for name in available_timezones() if "/" in name and "Etc/" not in name)
    return [(name, name.replace("_", " ")) for name in sorted(named)]


def food_codes() -> list[tuple[str, str]]:
    """Return the codes on file by name."""
    return [(key, code.name) for key, code in codes().items()]


def regions_with_law() -> list[tuple[str, str]]:
    """Return the states and regions whose law on dispensing lines is on file."""
    return [("", "None chosen"), *regions().items()]


class VenueForm(AmendForm):
    """The venue's settings."""

    name = forms.CharField(max_length=120)
    address = forms.CharField(required=False, widget=forms.Textarea(attrs={"rows": 3}))
    code_key = forms.ChoiceField(
        label="Food code",
        choices=food_codes,
        help_text="The code your authority has adopted. If you are not sure, ask the authority.",
    )
    region = forms.ChoiceField(
        label="State or region",
        choices=regions_with_law,
        required=False,
        help_text="Its law on cleaning dispensing lines is held beside the plans. Not among them: "
        "none is on file here, so ask the authority.",
    )
    time_zone = forms.ChoiceField(choices=time_zones)
    units = forms.ChoiceField(choices=Units.choices)
    best_before_binds = forms.BooleanField(
        label="A lot's best-before date binds",
        required=False,
        help_text="Ticked: a lot past its best before is not used. Otherwise it is a warning.",
    )

    def __init__(self, *args: Any, record: Venue, **kwargs: Any) -> None:
        super().__init__(*args, record=record, **kwargs)
        self.helper = PageFormHelper(
            self,
            Part("The bar", "name", "address"),
            Part("How it is judged", "code_key", "region", "best_before_binds"),
            Part("How it is shown", SideBySide("time_zone", "units")),
            Part("The change", "reason", "seen"),
            act="Change the settings",
        )


@cache
def _rules_that_are_numbers() -> list[tuple[str, str]]:
    return [
        (rule.rule, f"{rule.meaning[:1].upper()}{rule.meaning[1:]} ({unit_word(rule.unit)})")
        for rule in rules().values()
        if rule.unit != WORD
    ]


def unit_word(unit: str) -> str:
    """Return the unit of a rule as people write it."""
    return {"degC": "°C", "aw": "water activity", "day": "days"}.get(unit, unit)


class LocalLimitForm(forms.Form):
    """A limit of the venue's own."""

    rule = forms.ChoiceField(label="Limit", choices=_rules_that_are_numbers)
    value = forms.CharField(
        label="The venue's value",
        max_length=40,
        help_text="A temperature with its unit, 40 °F or 4 °C; another number in the unit that "
        "stands behind the limit.",
        widget=forms.TextInput(attrs={"inputmode": "text", "autocomplete": "off"}),
    )
    valid_from = DayField(label="In force from")
    authority = forms.CharField(max_length=160, required=False)
    reference = forms.CharField(
        max_length=160, required=False, help_text="What stands on the letter, such as V-2031."
    )
    approved_on = DayField(required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(
            self,
            Part("The limit", "rule", SideBySide("value", "valid_from")),
            Part(
                "The authority's approval",
                "authority",
                SideBySide("reference", "approved_on"),
                sentence="Needed where the limit is looser than the code's. Leave out otherwise.",
            ),
            act="Set the limit",
        )

    def clean(self) -> dict[str, Any]:
        """Read the value in the unit of the limit that was chosen."""
        cleaned = super().clean()
        rule, typed = rules().get(cleaned.get("rule", "")), cleaned.get("value")
        if rule is not None and typed:
            try:
                cleaned["value"] = _value_of(typed, rule)
            except ValidationError as trouble:
                self.add_error("value", trouble)
        return cleaned


def _value_of(typed: str, rule: Rule) -> Decimal:
    """Return a value in the unit of its rule; ValidationError says what was wrong with it.

    A temperature is rounded towards the warmer hundredth, as readings are: 38 °F read are not
    above 38 °F set.
    """
    if rule.unit != "degC":
        number = typed.removesuffix(unit_word(rule.unit)).strip()
        return forms.DecimalField(max_digits=10, decimal_places=3).clean(number)
    kind = Kind.TEMPERATURE_DIFFERENCE if rule.is_difference else Kind.TEMPERATURE
    try:
        value = read(typed, kind).value
    except UnreadableQuantity as trouble:
        raise ValidationError(str(trouble), code=trouble.code) from None
    return value if rule.is_difference else to_warmer_hundredth(value)


class WithdrawLimitForm(ReasonForm):
    """Why a limit of the venue's own ends."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Withdraw the limit", grave=True)


class PersonForm(forms.Form):
    """Somebody new at the venue."""

    username = forms.CharField(
        max_length=150,
        validators=User._meta.get_field("username").validators,
        help_text="Letters, digits and @ . + - _ such as mara. It signs what the person records.",
        widget=forms.TextInput(attrs={"autocapitalize": "none", "autocomplete": "off"}),
    )
    full_name = forms.CharField(max_length=150, required=False)
    role = forms.ChoiceField(choices=Role.choices, initial=Role.STAFF)
    password = forms.CharField(
        label="First password",
        required=False,
        strip=False,
        help_text=(
            "Tell it to the person, who changes it after signing in. "
            "Leave out for somebody who works at another venue of yours."
        ),
        widget=forms.TextInput(attrs={"autocapitalize": "none", "autocomplete": "off"}),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Add the person")


class RoleForm(AmendForm):
    """Another role for a person."""

    role = forms.ChoiceField(choices=Role.choices, widget=forms.RadioSelect)

    def __init__(self, *args: Any, record: Membership, **kwargs: Any) -> None:
        super().__init__(*args, record=record, **kwargs)
        self.helper = PageFormHelper(self, act="Change the role")


class AccessForm(ReasonForm):
    """Why a person is shut out, or let in again."""

    def __init__(self, *args: Any, record: Membership, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        act = "Shut out" if record.is_active else "Let in again"
        self.helper = PageFormHelper(
            self, act=f"{act}: {record.user.get_username()}", grave=record.is_active
        )


class NewPasswordForm(forms.Form):
    """A new password for somebody who has forgotten theirs."""

    password = forms.CharField(
        label="New password",
        strip=False,
        help_text=password_validation.password_validators_help_text_html,
        widget=forms.TextInput(attrs={"autocapitalize": "none", "autocomplete": "off"}),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Set the password")
