"""The error budget is honest: every relation holds, and a broken one is seen."""

import io
from dataclasses import replace

import pytest
from django.core.management import CommandError, call_command

from kegsafe.calculators import error_budget
from kegsafe.calculators.error_budget import BUDGETS, spent


@pytest.mark.parametrize("each", spent(), ids=lambda each: each.budget.quantity)
def test_every_relation_stays_within_its_tolerance_of_the_outside_table(each):
    assert each.checks >= 4
    assert each.worst <= each.budget.tolerance


@pytest.mark.parametrize("each", spent(), ids=lambda each: each.budget.quantity)
def test_no_tolerance_is_so_wide_that_it_hides_a_change_for_the_worse(each):
    assert each.worst > each.budget.tolerance / 5


def test_there_are_more_than_a_hundred_and_fifty_checks():
    assert sum(each.checks for each in spent()) > 150


def test_the_command_prints_each_quantity_with_its_worst_deviation():
    out = io.StringIO()
    call_command("verify_science", stdout=out)
    lines = out.getvalue().splitlines()
    assert lines[0].split()[:2] == ["quantity", "checks"]
    assert len([line for line in lines if " holds " in line]) == len(BUDGETS)


def test_a_relation_past_its_tolerance_ends_the_command_with_status_one(monkeypatch):
    broken = replace(BUDGETS[0], tolerance=0.01)
    monkeypatch.setattr(error_budget, "BUDGETS", (broken, *BUDGETS[1:]))
    with pytest.raises(CommandError, match="Past the tolerance: CO2 in water") as failed:
        call_command("verify_science", stdout=io.StringIO())
    assert failed.value.returncode == 1
