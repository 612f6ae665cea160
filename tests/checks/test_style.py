"""One formatter, one linter, one type checker: what they say is part of the suite."""

import subprocess
import sys
from pathlib import Path

import pytest

PROJECT = Path(__file__).parents[2]
NAMES_THAT_NAME_NOTHING = {"utils", "util", "helpers", "helper", "common", "misc"}
LONGEST_FILE = 500


@pytest.mark.parametrize(
    "command",
    [
        ["ruff", "check", "--no-cache"],
        ["ruff", "format", "--check", "--no-cache"],
        ["djlint", "--lint", "--quiet", "templates"],
        ["mypy", "--cache-dir", "/dev/null" if sys.platform != "win32" else "nul"],
    ],
    ids=" ".join,
)
def test_the_code_passes(command):
    done = subprocess.run(
        [sys.executable, "-m", *command], cwd=PROJECT, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stdout + done.stderr


def _sources() -> list[Path]:
    folders = ("kegsafe", "tests", "templates")
    found = [path for folder in folders for path in (PROJECT / folder).rglob("*")]
    return [path for path in found if path.suffix in {".py", ".html"}]


def test_no_file_is_longer_than_one_can_hold_in_mind():
    lengths = {
        path.relative_to(PROJECT).as_posix(): len(path.read_text(encoding="utf-8").splitlines())
        for path in _sources()
    }
    assert {name: lines for name, lines in lengths.items() if lines >= LONGEST_FILE} == {}


def test_every_module_is_named_for_its_subject():
    assert [path for path in _sources() if path.stem in NAMES_THAT_NAME_NOTHING] == []
