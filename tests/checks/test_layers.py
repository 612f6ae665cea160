"""The house stands: imports point down, and rooms on one level leave each other alone."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PROJECT = Path(__file__).parents[2]

# From the cellar up. What shares a line shares a level.
HOUSE = (
    ("quantities",),
    ("science",),
    ("rules",),
    ("frame",),
    ("ledger",),
    ("venues",),
    ("stock", "equipment", "calculators"),
    ("cleaning", "cold_chain", "pressure"),
    ("batches",),
    ("tracing",),
    ("pour", "recalls"),
    ("reports",),
    ("readiness",),
    ("inspection", "exports"),
    ("demo", "benchmarks"),
)
LEVEL = {room: level for level, rooms in enumerate(HOUSE) for room in rooms}
OUTSIDE = {"settings", "urls", "wsgi", "provisioning"}
WITHOUT_DJANGO = ("quantities", "science", "rules")


def imported_by(source: str) -> Iterator[str]:
    """Yield the dotted names that a module imports, wherever in the module it does so."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield from (f"{node.module}.{name.name}" for name in node.names)


def arrow_fault(room: str, imported: str) -> str | None:
    """Say what is wrong with a module of `room` importing that name, or None."""
    top, _, rest = imported.partition(".")
    if top == "django" and room in WITHOUT_DJANGO:
        return f"{room} knows nothing of Django"
    if top != "kegsafe":
        return None
    other = rest.split(".")[0]
    if other == room:
        return None
    if other not in LEVEL:
        return f"{room} does not reach out of the house to {other}"
    if LEVEL[other] > LEVEL[room]:
        return f"{room} does not reach up to {other}"
    if LEVEL[other] == LEVEL[room]:
        return f"{room} does not reach across to {other}"
    return None


def _modules() -> list[Path]:
    return sorted((PROJECT / "kegsafe").glob("*/**/*.py"))


def _name(path: Path) -> str:
    return path.relative_to(PROJECT).as_posix()


@pytest.mark.parametrize("path", _modules(), ids=_name)
def test_imports_point_down(path):
    room = path.relative_to(PROJECT / "kegsafe").parts[0]
    imported = imported_by(path.read_text(encoding="utf-8"))
    assert [fault for name in imported if (fault := arrow_fault(room, name))] == []


@pytest.mark.parametrize("path", _modules(), ids=_name)
def test_imports_are_absolute(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    relative = [n.lineno for n in ast.walk(tree) if isinstance(n, ast.ImportFrom) and n.level]
    assert relative == []


def test_every_folder_has_its_place_in_the_house():
    folders = {path.parent.name for path in (PROJECT / "kegsafe").glob("*/__init__.py")}
    assert folders <= set(LEVEL)


def test_nothing_stands_outside_the_house_but_the_four_that_start_it():
    modules = {path.stem for path in (PROJECT / "kegsafe").glob("*.py")} - {"__init__"}
    assert modules <= OUTSIDE


@pytest.mark.parametrize(
    ("room", "imported", "fault"),
    [
        ("stock", "kegsafe.batches.models.Batch", "stock does not reach up to batches"),
        ("stock", "kegsafe.equipment.models", "stock does not reach across to equipment"),
        ("rules", "django.db.models", "rules knows nothing of Django"),
        ("pour", "kegsafe.urls", "pour does not reach out of the house to urls"),
        ("batches", "kegsafe.stock.services", None),
        ("batches", "kegsafe.batches.models", None),
        ("science", "math", None),
    ],
)
def test_the_guard_sees_an_arrow_that_points_the_wrong_way(room, imported, fault):
    assert arrow_fault(room, imported) == fault


def test_the_guard_sees_an_import_inside_a_function():
    source = "def late():\n    from kegsafe.batches import models\n"
    assert list(imported_by(source)) == ["kegsafe.batches.models"]
