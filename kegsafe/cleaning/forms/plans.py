"""Changing a plan: its limits and intervals, each beside what it says now."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from django import forms

from kegsafe.cleaning.models import CleaningPlan
from kegsafe.frame.layout import PageFormHelper, Part
from kegsafe.frame.moment_fields import DayField
from kegsafe.ledger.forms import ReasonForm
from kegsafe.rules.cleaning.guidance import Basis, Bound, Citation
from kegsafe.rules.cleaning.intervals import Every, Interval
from kegsafe.rules.cleaning.plans import Approval, Contact, Plan, PlanStep
from kegsafe.rules.cleaning.plans import plans as starters
from kegsafe.rules.cleaning.sanitise_step import (
    sanitises,
    sanitising_again,
    without_sanitising,
)

_OWN = Citation(Basis.HOUSE, "House rule of this venue", "", "house")
_BOUNDS = {"strength": "Strength", "temperature": "Temperature", "ph_tolerance": "pH tolerance"}
_APPROVAL = {
    "authority": "authority",
    "reference": "reference",
    "approved_on": "approved_on",
    "approval_reason": "reason",
}
_UNITS = {"degC": "°C"}
# A change of drink is an event and no number that somebody could make smaller.
_COUNTED = {
    Every.DAY: "days",
    Every.HOUR: "hours",
    Every.USE: "uses",
    Every.FILL: "fills",
    Every.IDLE_DAY: "days",
}
_ENDS = {"minimum": "at least", "maximum": "at most"}


class ChangePlanForm(ReasonForm):
    """Every limit of a plan with its two ends, and how often it is owed."""

    name = forms.CharField(max_length=120)
    needs_second_person = forms.BooleanField(label="A second person signs", required=False)
    is_allergen_clean = forms.BooleanField(
        label="This is an allergen clean",
        required=False,
        help_text="Only with an allergen test among its steps.",
    )
    is_without_sanitising = forms.BooleanField(
        label="Leave the sanitise step out",
        required=False,
        help_text="Only as the authority allows in writing: the model code asks for the step.",
    )
    authority = forms.CharField(label="Who allowed it", max_length=120, required=False)
    reference = forms.CharField(
        label="Letter or permit", max_length=120, required=False, help_text="Its number or title."
    )
    approved_on = DayField(label="Allowed on", required=False)
    approval_reason = forms.CharField(label="Why it is left out", max_length=200, required=False)

    def __init__(self, *args: Any, plan: CleaningPlan, **kwargs: Any) -> None:
        self.rules, self.starter = plan.as_rules(), starters().get(plan.starter_key)
        allowed = self.rules.without_sanitising
        shown = {
            **({name: getattr(allowed, own) for name, own in _APPROVAL.items()} if allowed else {}),
            "is_without_sanitising": allowed is not None,
            "name": self.rules.name,
            "needs_second_person": self.rules.needs_second_person,
            "is_allergen_clean": self.rules.is_allergen_clean,
        }
        super().__init__(*args, initial=shown, **kwargs)
        limits = [name for name, label, bound in self._bounds() for name in self._add(name, label,
                  bound)]  # fmt: skip
        owed = [self._add_interval(place, each) for place, each in enumerate(self.rules.intervals)
                if each.every is not None and each.unit in _COUNTED]  # fmt: skip
        self.helper = PageFormHelper(
            self,
            Part("The plan", "name", "needs_second_person", "is_allergen_clean"),
            Part("How often", *owed),
            Part("Limits", *limits, sentence="Strengths in mg/l (2 % is 20 000), times in s."),
            *self._sanitising(),
            Part("The change", "reason"),
            act="Put the new version in force",
        )

    def changed_plan(self) -> Plan:
        """Return the plan as it was typed."""
        values = self.cleaned_data
        changed = replace(
            self.rules,
            name=values["name"],
            needs_second_person=values["needs_second_person"],
            is_allergen_clean=values["is_allergen_clean"],
            steps=tuple(map(self._step, self.rules.steps)),
            intervals=tuple(
                self._interval(place, each) for place, each in enumerate(self.rules.intervals)
            ),
        )
        if values.get("is_without_sanitising"):
            return without_sanitising(changed, self._approval())
        if changed.without_sanitising is not None and self.starter is not None:
            return sanitising_again(changed, self.starter)
        return changed

    def clean(self) -> dict[str, Any]:
        """A limit keeps one end at least, and its ends stand in order."""
        cleaned = super().clean()
        for name, _label, _bound in self._bounds():
            low, high = cleaned.get(f"{name}-minimum"), cleaned.get(f"{name}-maximum")
            if low is None and high is None:
                self.add_error(f"{name}-minimum", "A limit has one end at least. Write a number.")
            elif low is not None and high is not None and low > high:
                self.add_error(f"{name}-maximum", f"{high} is below {low}. Write them in order.")
        for name in _APPROVAL if cleaned.get("is_without_sanitising") else ():
            if name not in self.errors and not cleaned.get(name):
                self.add_error(name, "Without it the sanitise step stays. Read the paper.")
        return cleaned

    def _sanitising(self) -> list[Part]:
        """Return the part about the sanitise step; a plan that never had one has no such part."""
        asks = self.starter is not None and sanitises(self.starter)
        if asks or sanitises(self.rules):
            names = ("is_without_sanitising", *_APPROVAL)
            return [Part("The sanitise step", *names)]
        for name in ("is_without_sanitising", *_APPROVAL):
            del self.fields[name]
        return []

    def _approval(self) -> Approval:
        return Approval(**{own: self.cleaned_data[name] for name, own in _APPROVAL.items()})

    def _bounds(self) -> Iterator[tuple[str, str, Bound]]:
        for step in self.rules.steps:
            for attribute, words in _BOUNDS.items():
                bound = getattr(step, attribute)
                if bound is not None:
                    yield f"{step.position}-{attribute}", f"{step.name}: {words.lower()}", bound
            for contact in step.contacts:
                if contact.bound is not None:
                    way = contact.application.value
                    yield f"{step.position}-{way}", f"{step.name}: time {way}", contact.bound

    def _add(self, name: str, label: str, bound: Bound) -> list[str]:
        names, unit = [], _UNITS.get(bound.unit, bound.unit)
        for end, words in _ENDS.items():
            names.append(f"{name}-{end}")
            self.fields[names[-1]] = forms.DecimalField(
                label=f"{label[0].upper()}{label[1:]}, {words} ({unit})",
                required=False,
                min_value=0,
                max_digits=10,
                decimal_places=2,
                initial=getattr(bound, end),
                localize=False,
            )
        return names

    def _add_interval(self, place: int, interval: Interval) -> str:
        name = f"interval-{place}"
        self.fields[name] = forms.IntegerField(
            label=f"{interval.in_words[0].upper()}{interval.in_words[1:]}: how many "
            f"{_COUNTED[interval.unit]}",
            min_value=1,
            max_value=3650,
            initial=interval.every,
            help_text=_resting_on(interval.citation),
        )
        return name

    def _interval(self, place: int, interval: Interval) -> Interval:
        every = self.cleaned_data.get(f"interval-{place}", interval.every)
        if every == interval.every:
            return interval
        return replace(interval, rule=_own(interval.rule), every=every, citation=_OWN)

    def _step(self, step: PlanStep) -> PlanStep:
        bounds = {
            attribute: self._bound(f"{step.position}-{attribute}", bound)
            for attribute in _BOUNDS
            if (bound := getattr(step, attribute)) is not None
        }
        contacts = tuple(
            each if each.bound is None
            else Contact(each.application,
                         self._bound(f"{step.position}-{each.application.value}", each.bound))
            for each in step.contacts
        )  # fmt: skip
        return replace(step, contacts=contacts, **bounds)

    def _bound(self, name: str, bound: Bound) -> Bound:
        low, high = (self.cleaned_data[f"{name}-{end}"] for end in _ENDS)
        if (low, high) == (bound.minimum, bound.maximum):
            return bound
        return replace(bound, rule=_own(bound.rule), minimum=low, maximum=high, citation=_OWN)


class RetirePlanForm(ReasonForm):
    """Why a plan is used no longer."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Use the plan no longer", grave=True)


def _resting_on(citation: Citation) -> str:
    """Return what an interval rests on; practice without a source says so once."""
    said = dict.fromkeys((str(citation), citation.basis.in_words))
    return f"{', '.join(said)}."


def _own(rule: str) -> str:
    return rule if rule.startswith("venue.") else f"venue.{rule}"
