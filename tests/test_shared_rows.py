"""Every row of every table in shared/ says where it comes from and how far it was checked."""

import csv
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from kegsafe.rules.tables import VERIFIED_TAGS
from kegsafe.science.tables import SHARED

TABLES = sorted(SHARED.rglob("*.csv"))


def name(path: Path) -> str:
    return str(path.relative_to(SHARED))


def rows(path: Path) -> Iterator[tuple[str, dict[str, str]]]:
    """Yield each row with its place in words."""
    with path.open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file)
        for row in reader:
            yield f"{name(path)}, line {reader.line_num}", row


def is_tagged(verified: str) -> bool:
    """A tag opens the cell; what it covers may stand before it, where it was read after it."""
    tags = "|".join(re.escape(tag) for tag in VERIFIED_TAGS)
    return re.match(rf"(value |statement )?({tags})($|[ :;])", verified) is not None


def test_there_are_tables():
    assert len(TABLES) > 10


@pytest.mark.parametrize("path", TABLES, ids=name)
def test_every_row_has_as_many_cells_as_its_header(path):
    assert [where for where, row in rows(path) if None in row or None in row.values()] == []


@pytest.mark.parametrize("path", TABLES, ids=name)
def test_every_row_names_its_source(path):
    assert [where for where, row in rows(path) if not row["source"].strip()] == []


@pytest.mark.parametrize("path", TABLES, ids=name)
def test_every_row_says_how_far_it_was_checked(path):
    assert [where for where, row in rows(path) if not is_tagged(row["verified"])] == []


@pytest.mark.parametrize("verified", ["", "readable", "trust me", "unread", "from a friend: read"])
def test_a_made_up_tag_is_noticed(verified):
    assert not is_tagged(verified)


@pytest.mark.parametrize("path", sorted(SHARED.rglob("*.toml")), ids=name)
def test_every_code_says_to_whom_it_defers(path):
    assert tomllib.loads(path.read_text(encoding="utf-8"))["deference"].strip()
