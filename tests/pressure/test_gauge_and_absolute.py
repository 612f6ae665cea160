"""A gauge reading is never taken for an absolute pressure, nor the other way round.

Every form and every command of the house is found by looking, so that a new one is held to it
unasked. That a plate, a dispense gauge and a set pressure are gauge, and that the air in a room
is absolute: common practice, no source.
"""

import pkgutil
from importlib import import_module
from io import StringIO

import pytest
from django import forms
from django.core.exceptions import ValidationError
from django.core.management import CommandError, call_command

import kegsafe
from kegsafe.calculators.calculator import Input
from kegsafe.calculators.registry import CALCULATORS
from kegsafe.frame.quantity_fields import QuantityField
from kegsafe.quantities import Kind

PRESSURES = {Kind.GAUGE_PRESSURE, Kind.ABSOLUTE_PRESSURE}
# What may be typed where a gauge reading belongs, and where an absolute pressure does. A plain
# unit is a gauge reading, as the trade reads its gauges; so absolute must be said.
TYPED = {
    Kind.GAUGE_PRESSURE: ("2 bar", "2 bar gauge", "30 psi", "30 psig"),
    Kind.ABSOLUTE_PRESSURE: ("1.013 bar absolute", "14.7 psia", "101.3 kPa abs"),
}
OTHER = {
    Kind.GAUGE_PRESSURE: TYPED[Kind.ABSOLUTE_PRESSURE],
    Kind.ABSOLUTE_PRESSURE: ("2 bar gauge", "30 psig"),
}


def _subclasses(parent: type) -> set[type]:
    found = set(parent.__subclasses__())
    return found.union(*(_subclasses(each) for each in found))


def _fields() -> list[tuple[str, QuantityField]]:
    """Every field for a pressure on any form of the house."""
    for module in pkgutil.walk_packages(kegsafe.__path__, "kegsafe."):
        if ".forms" in module.name:
            import_module(module.name)
    return sorted(
        (
            (f"{form.__module__.removeprefix('kegsafe.')}.{form.__name__}.{name}", field)
            for form in _subclasses(forms.BaseForm)
            if form.__module__.startswith("kegsafe.")
            for name, field in getattr(form, "base_fields", {}).items()
            if isinstance(field, QuantityField) and field.kind in PRESSURES
        ),
        key=lambda found: found[0],
    )


FIELDS = _fields()
INPUTS = [
    (calculator, each)
    for calculator in CALCULATORS
    for each in calculator.inputs
    if isinstance(each, Input) and PRESSURES & set(each.kinds)
]
_of_forms = pytest.mark.parametrize("field", [pytest.param(f, id=name) for name, f in FIELDS])
_of_commands = pytest.mark.parametrize(
    ("calculator", "asked"), [pytest.param(c, i, id=f"{c.name} {i.key}") for c, i in INPUTS]
)


def _told(calculator, **other):
    typed = {
        each.key: each.example
        for each in calculator.inputs
        if isinstance(each, Input) and each.example
    }
    printed = StringIO()
    words = [f"{key}={value}" for key, value in {**typed, **other}.items()]
    call_command("calc", calculator.name, *words, stdout=printed)
    return printed.getvalue()


def test_the_forms_and_commands_with_a_pressure_were_found():
    rooms = {name.split(".")[0] for name, _ in FIELDS}
    assert {"pressure", "equipment", "batches", "cold_chain"} <= rooms
    assert {"carbonation", "warm-up"} <= {calculator.name for calculator, _ in INPUTS}


def test_no_field_named_for_a_pressure_takes_anything_but_a_quantity():
    named = {
        f"{form.__name__}.{name}": field
        for form in _subclasses(forms.BaseForm)
        if form.__module__.startswith("kegsafe.")
        for name, field in getattr(form, "base_fields", {}).items()
        if "pressure" in name
    }
    assert named
    assert [name for name, field in named.items() if not isinstance(field, QuantityField)] == []


@_of_forms
def test_a_form_takes_its_own_kind(field):
    for typed in TYPED[field.kind]:
        assert field.clean(typed).kind is field.kind


@_of_forms
def test_a_form_refuses_the_other_kind_and_says_which_belongs_there(field):
    wanted = "gauge" if field.kind is Kind.GAUGE_PRESSURE else "absolute"
    for typed in OTHER[field.kind]:
        with pytest.raises(ValidationError, match=wanted) as refused:
            field.clean(typed)
        assert f'"{typed}"' in str(refused.value)


@_of_forms
@pytest.mark.parametrize("bare", ["3.4", "50"])
def test_a_form_refuses_a_bare_number(field, bare):
    with pytest.raises(ValidationError, match=f'"{bare}" has no unit'):
        field.clean(bare)


@_of_commands
def test_a_command_refuses_the_other_kind_and_a_bare_number(calculator, asked):
    assert _told(calculator)
    [kind] = set(asked.kinds) & PRESSURES
    for typed in (*OTHER[kind], "3.4"):
        with pytest.raises(CommandError, match=f'"{typed}"'):
            _told(calculator, **{asked.key: typed})
