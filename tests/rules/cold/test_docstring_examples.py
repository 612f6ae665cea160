"""The examples in the docstrings of the cold rules are true."""

import doctest
import importlib
import pkgutil

import pytest

import kegsafe.rules.cold

MODULES = [
    f"kegsafe.rules.cold.{found.name}"
    for found in pkgutil.iter_modules(kegsafe.rules.cold.__path__)
]


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_of_a_module_hold(name):
    assert doctest.testmod(importlib.import_module(name)).failed == 0
