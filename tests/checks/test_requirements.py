"""What is installed is pinned, and what is pinned is used."""

import re
from pathlib import Path

import pytest

PROJECT = Path(__file__).parents[2]
PIN = re.compile(r"(?P<name>[\w.-]+)(?:\[\w+\])?==[\w.]+(?:; .+)?")

# Used under another name than the package's own, and where.
KNOWN_AS = {
    "django-crispy-forms": "crispy_forms",
    "django-environ": "environ",
    "django-axes": "axes",
    "django-csp": "csp",
    "argon2-cffi": "Argon2PasswordHasher",
    "psycopg": "django.db.backends.postgresql",
    "tzdata": "zoneinfo",  # reads it where the system has no time zones
    "pytest-django": "DJANGO_SETTINGS_MODULE",
    "pytest-xdist": "maxprocesses",
    "pytest-playwright": "new_context",
    "zxing-cpp": "zxingcpp",
    "pillow": "PIL",
    "axe-playwright-python": "axe_playwright_python",
    "coolprop": "CoolProp",
}


def _lines(name: str) -> list[str]:
    lines = (PROJECT / name).read_text(encoding="utf-8").splitlines()
    return [line for line in lines if line and not line.startswith("#")]


def _text_of(*patterns: str) -> str:
    paths = [path for pattern in patterns for path in PROJECT.glob(pattern)]
    mine = Path(__file__)
    return "".join(path.read_text(encoding="utf-8") for path in paths if path != mine)


@pytest.mark.parametrize("name", ["requirements.txt", "tests/requirements.txt"])
def test_every_requirement_is_pinned_to_one_version(name):
    assert [line for line in _lines(name) if not PIN.fullmatch(line)] == []


@pytest.mark.parametrize(
    ("name", "places"),
    [
        ("requirements.txt", ["kegsafe/**/*.py"]),
        ("tests/requirements.txt", ["kegsafe/*.py", "tests/**/*.py", "pyproject.toml"]),
    ],
)
def test_every_requirement_is_used(name, places):
    text = _text_of(*places)
    names = [PIN.match(line)["name"].lower() for line in _lines(name)]
    used_as = {name: KNOWN_AS.get(name, name.replace("-", "_")) for name in names}
    assert [name for name, word in used_as.items() if word not in text] == []
