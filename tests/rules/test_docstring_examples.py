"""The examples in the docstrings of the rules are true."""

import doctest
import importlib

import pytest


@pytest.mark.parametrize("module", ["codes", "date_marking", "moments", "tcs"])
def test_the_examples_of_a_module_hold(module):
    result = doctest.testmod(importlib.import_module(f"kegsafe.rules.{module}"))
    assert result.attempted > 0
    assert result.failed == 0
