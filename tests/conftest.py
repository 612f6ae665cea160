"""What every test stands on: property-test profiles, and tables that empty despite the ledger."""

from importlib import import_module

import hypothesis
import pytest
from django.db import connection
from django.test import TransactionTestCase

from tests.surroundings import IN_CI

# No deadline: a slow machine is not a wrong answer. In CI the same examples each time.
hypothesis.settings.register_profile("here", deadline=None)
hypothesis.settings.register_profile("ci", deadline=None, derandomize=True, print_blob=True)
hypothesis.settings.load_profile("ci" if IN_CI else "here")

# Minutes in one file each: begun first, so that no processor is left to wait for the last of them.
_LONG = ("tests/doors/test_on_postgresql.py", "tests/test_roles.py", "tests/demo/test_demo.py")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    items.sort(key=lambda item: not item.nodeid.startswith(_LONG))


def _empty_tables_past_the_ledger(
    test_case: TransactionTestCase, _teardown=TransactionTestCase._fixture_teardown
) -> None:
    """Take the append-only triggers away while a test's tables are emptied."""
    append_only = import_module("kegsafe.ledger.append_only")
    append_only.remove(connection)
    try:
        _teardown(test_case)
    finally:
        append_only.install(connection)


@pytest.fixture(autouse=True, scope="session")
def _ledger_lets_tests_clean_up():
    TransactionTestCase._fixture_teardown, kept = (
        _empty_tables_past_the_ledger,
        TransactionTestCase._fixture_teardown,
    )
    yield
    TransactionTestCase._fixture_teardown = kept
