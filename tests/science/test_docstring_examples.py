"""Every example in a docstring of the science modules is run as it is printed."""

import doctest
import importlib
import pkgutil

import pytest

import kegsafe.science

MODULES = [
    f"kegsafe.science.{found.name}" for found in pkgutil.iter_modules(kegsafe.science.__path__)
]


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_of_a_module_are_true(name):
    result = doctest.testmod(importlib.import_module(name))
    assert result.failed == 0


@pytest.mark.parametrize("name", MODULES)
def test_a_module_says_in_its_first_line_what_it_is_about(name):
    assert (importlib.import_module(name).__doc__ or "").strip()
