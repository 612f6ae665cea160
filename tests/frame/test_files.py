"""Files that came from elsewhere: whole, with their licence, asking nothing of the network."""

import re
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from reportlab.pdfbase.ttfonts import TTFont

FRAME = Path(__file__).parents[2] / "kegsafe" / "frame"
STATIC = FRAME / "static" / "frame"
SHEETS = sorted(STATIC.rglob("*.css"))
SCRIPTS = sorted(STATIC.rglob("*.js"))
TEMPLATES = Path(__file__).parents[2] / "templates"

# What labels and reports write beside plain letters; a Polish bottle is a good neighbour.
GLYPHS = "✓✗☐☑⚠≤≥°µ→½⅓₂€éßøŻubrówkañçčřő"


@pytest.mark.parametrize("path", [*SHEETS, *SCRIPTS], ids=lambda path: path.name)
def test_no_file_asks_for_a_source_map_that_is_not_there(path):
    assert "sourceMappingURL" not in path.read_text(encoding="utf-8")


@pytest.mark.parametrize("path", SHEETS, ids=lambda path: path.name)
def test_no_sheet_loads_anything_from_the_network(path):
    addresses = re.findall(r"url\(\s*[\"']?([^)\"']+)", path.read_text(encoding="utf-8"))
    assert [address for address in addresses if not address.startswith("data:")] == []


@pytest.mark.parametrize("folder", [STATIC / "vendor" / "bootstrap", FRAME / "fonts"])
def test_what_others_made_has_its_licence_beside_it(folder):
    assert len((folder / "LICENSE").read_text(encoding="utf-8")) > 500


def test_every_static_file_a_template_names_exists():
    named = {
        name
        for path in TEMPLATES.rglob("*.html")
        for name in re.findall(r"{% static [\"']([^\"']+)", path.read_text(encoding="utf-8"))
    }
    assert named
    assert [name for name in sorted(named) if finders.find(name) is None] == []


@pytest.mark.parametrize("name", ["DejaVuSans.ttf", "DejaVuSans-Bold.ttf"])
def test_the_report_fonts_hold_every_letter_and_mark_in_use(name):
    face = TTFont(name.removesuffix(".ttf"), str(FRAME / "fonts" / name)).face
    assert [glyph for glyph in GLYPHS if ord(glyph) not in face.charToGlyph] == []


def test_every_colour_of_the_light_theme_that_the_dark_one_changes_has_its_name():
    light, dark = (
        (STATIC / name).read_text(encoding="utf-8") for name in ("kegsafe.css", "dark.css")
    )
    names = re.compile(r"^\s*(--[a-z-]+):", re.MULTILINE)
    assert set(names.findall(dark)) <= set(names.findall(light))


def test_every_name_a_sheet_uses_is_given_somewhere():
    text = "\n".join(path.read_text(encoding="utf-8") for path in STATIC.glob("*.css"))
    given = set(re.findall(r"(--[a-z0-9-]+)\s*:", text))
    used = set(re.findall(r"var\((--[a-z0-9-]+)", text))
    assert {name for name in used - given if not name.startswith("--bs-")} == set()
