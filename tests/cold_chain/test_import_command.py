"""`manage.py import_temperatures`: as a person runs it, kills it and runs it again."""

import os
import re
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from kegsafe.cold_chain.models import LoggedReading
from tests.builders import a_place, a_venue
from tests.cold_chain.test_imports import a_file

PROJECT = Path(__file__).parents[2]


@pytest.fixture
def place(db):
    return a_place(a_venue("england", "Europe/London"), name="Walk-in")


def run(path, *options):
    said, complained = StringIO(), StringIO()
    call_command(
        "import_temperatures",
        str(path),
        "--place",
        "walk-in",
        *options,
        stdout=said,
        stderr=complained,
    )
    return said.getvalue().strip(), complained.getvalue().strip()


@pytest.fixture
def path(tmp_path):
    return tmp_path / "april.csv"


def test_a_plain_file_goes_in(place, path):
    path.write_bytes(a_file("3.1", "3.2"))
    said, complained = run(path)
    assert said.startswith("2 readings added, 0 on record already")
    assert complained == ""
    assert LoggedReading.objects.filter(place=place).count() == 2


def test_a_bad_row_is_said_with_its_line(place, path):
    path.write_bytes(a_file("3.1", "warm"))
    said, complained = run(path)
    assert said.endswith("1 rows could not be read")
    assert complained == 'line 3: "warm" is no temperature.'


def test_the_same_file_again_adds_nothing(place, path):
    path.write_bytes(a_file("3.1"))
    run(path)
    assert run(path)[0] == "Imported already, as april.csv: nothing was added."


def test_what_the_file_does_not_say_is_asked_and_not_guessed(place, path):
    path.write_text("When,Value\n03/04/2026 10:00,38\n")
    with pytest.raises(CommandError) as asked:
        run(path)
    assert all(option in str(asked.value) for option in ("--unit", "--date-order", "--zone"))
    assert not LoggedReading.objects.exists()
    run(path, "--unit", "degF", "--date-order", "dmy", "--zone", "Europe/London")
    assert LoggedReading.objects.get().centi_degc == 334


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (["--place", "Cellar"], 'No place is called "Cellar". On file: Walk-in.'),
        (["--logger", "Box"], 'No logger in Walk-in is called "Box". On file: none.'),
        (["--zone", "Mars"], '"Mars" is no time zone.'),
        (["--column", "9"], "a column beyond them was chosen"),
    ],
)
def test_a_mistyped_option_is_said(place, path, options, sentence):
    path.write_bytes(a_file("3.1"))
    with pytest.raises(CommandError, match=re.escape(sentence)):
        run(path, *options)


def test_a_file_that_is_not_there_is_said(place, path):
    with pytest.raises(CommandError, match="cannot be read: No such file"):
        run(path)


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="needs a system with SIGKILL")
def test_an_import_killed_half_way_leaves_nothing_and_the_next_one_is_whole(tmp_path):
    """The count is that of the good rows, exactly, and the database is sound."""
    rows = 60_000
    path = tmp_path / "long.csv"
    path.write_bytes(a_file(*(f"{3 + k % 90 / 100:.2f}" for k in range(rows)), "broken"))
    for pieces in (1, 2, 3):
        _import_and_kill(path, pieces)
        assert _counts(tmp_path) == (0, 0, "ok")
    done, most_mb = _started(path).communicate()[0].splitlines()[-1].split()
    assert done == "done"
    assert int(most_mb) < 300
    assert _counts(tmp_path) == (rows, 1, "ok")


def _started(path: Path) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "tests.cold_chain.importing_process", str(path)],
        cwd=PROJECT,
        env={**os.environ, "DATABASE_URL": f"sqlite:///{path.parent / 'bar.sqlite3'}"},
        stdout=subprocess.PIPE,
        text=True,
    )


def _import_and_kill(path: Path, pieces: int) -> None:
    process = _started(path)
    for _ in range(pieces):
        assert process.stdout.readline().startswith("read ")
    process.kill()
    process.communicate()
    assert process.returncode == -signal.SIGKILL


def _counts(folder: Path) -> tuple[int, int, str]:
    with closing(sqlite3.connect(folder / "bar.sqlite3")) as database:
        one = [
            database.execute(question).fetchone()[0]
            for question in (
                "SELECT COUNT(*) FROM cold_chain_loggedreading",
                "SELECT COUNT(*) FROM cold_chain_importedlog",
                "PRAGMA integrity_check",
            )
        ]
    return tuple(one)
