"""Each published row says who printed it, where, and how far that was verified."""

import pytest

from kegsafe.science import tables
from kegsafe.science.tables import MissingTable, rows

NAMES = sorted(path.stem for path in (tables.SHARED / "science").glob("*.csv"))
TAGS = ("read", "second-hand", "memory", "computed")


@pytest.mark.parametrize("name", NAMES)
def test_every_row_has_a_source_a_section_and_a_tag(name):
    for row in rows(f"science/{name}"):
        assert row["source"].strip()
        assert row["section"].strip()
        assert any(tag in row["verified"] for tag in TAGS), row["verified"]


@pytest.mark.parametrize("name", NAMES)
def test_a_table_has_rows(name):
    assert rows(f"science/{name}")


def test_a_row_cannot_be_changed_by_whoever_reads_it():
    with pytest.raises(TypeError):
        rows("science/standard_drinks")[0]["ethanol_g"] = "1000"


def test_a_table_is_read_once():
    assert rows("science/standard_drinks") is rows("science/standard_drinks")


def test_a_table_that_is_not_there_is_missed_by_name():
    with pytest.raises(MissingTable, match="no_such_table"):
        rows("science/no_such_table")


@pytest.mark.parametrize("line", ["1,2", "1,2,3,4"])
def test_a_row_that_does_not_fit_its_header_is_refused(line, tmp_path, monkeypatch):
    (tmp_path / "broken.csv").write_text(f"a,b,c\n{line}\n", encoding="utf-8")
    monkeypatch.setattr(tables, "SHARED", tmp_path)
    with pytest.raises(ValueError, match="does not fit its header"):
        tables.rows("broken")
