"""`python3 manage.py demo`, started for real in a folder of its own."""

import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

PROJECT = Path(__file__).parents[2]
SECONDS_TO_START_AGAIN = 5


def _demo(data: Path, *options: str) -> str:
    kept = {
        name: value
        for name, value in os.environ.items()
        if not name.startswith(("KEGSAFE_", "DJANGO_")) and name != "DATABASE_URL"
    }
    done = subprocess.run(
        [sys.executable, str(PROJECT / "manage.py"), "demo", "--no-serve", *options],
        env=kept | {"KEGSAFE_DATA": str(data)},
        cwd="/",
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def _processor_seconds() -> float:
    """Time that the machine spent on children of this process; other tests do not count."""
    spent = os.times()
    return spent.children_user + spent.children_system


@pytest.fixture(scope="module")
def data(tmp_path_factory) -> Path:
    """A data folder in which the demo was made ready once."""
    folder = tmp_path_factory.mktemp("demo")
    assert "Laying the demo's day" in _demo(folder)
    return folder


def test_a_second_start_takes_less_than_five_seconds_and_lays_nothing(data):
    before = _processor_seconds()
    assert "Laying" not in _demo(data)
    assert _processor_seconds() - before < SECONDS_TO_START_AGAIN


def _chains(data: Path) -> set[str]:
    """The keys of the venues' chains: new ones each time a venue is opened."""
    with closing(sqlite3.connect(data / "demo.sqlite3")) as database:
        return {key for (key,) in database.execute("SELECT key FROM ledger_chain")}


def test_a_reset_that_is_agreed_to_beforehand_lays_the_day_anew(data):
    before = _chains(data)
    assert "Laying the demo's day" in _demo(data, "--reset", "--yes")
    assert len(_chains(data)) == 2
    assert not _chains(data) & before


def test_the_demo_has_a_database_of_its_own(data):
    assert sorted(path.name for path in data.glob("*.sqlite3")) == ["demo.sqlite3"]
