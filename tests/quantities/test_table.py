"""The table of kinds keeps its own promises."""

from decimal import Decimal

import pytest

from kegsafe.quantities import ROWS, Kind, Quantity, read, table
from kegsafe.quantities.units import key, refusals_of, unit_called, words_of

EVERY_KIND = pytest.mark.parametrize("kind", list(Kind))


@EVERY_KIND
def test_every_kind_has_a_row(kind):
    assert ROWS[kind].kind is kind


@EVERY_KIND
def test_the_table_at_the_head_of_the_module_lists_every_kind(kind):
    assert f"| {kind.name} " in table.__doc__


@EVERY_KIND
def test_every_example_can_be_read(kind):
    row = ROWS[kind]
    for example in filter(None, (*row.examples, row.clear_example)):
        assert read(example, kind).kind is kind


@EVERY_KIND
def test_no_spelling_stands_for_two_units_of_one_kind(kind):
    spellings = [key(word) for unit in ROWS[kind].units for word in set(map(key, unit.words))]
    assert len(spellings) == len(set(spellings))


@EVERY_KIND
def test_no_spelling_is_both_accepted_and_refused(kind):
    assert not set(words_of(kind)) & set(refusals_of(kind))


@EVERY_KIND
def test_every_word_can_be_read_and_every_unit_converted(kind):
    row = ROWS[kind]
    for unit in row.units:
        for word in unit.words:
            assert read(f"0.0005 {word}", kind).kind is kind


@EVERY_KIND
def test_every_unit_shown_is_a_unit_of_its_kind(kind):
    row = ROWS[kind]
    for step in (*row.metric, *row.us):
        assert unit_called(row, f"{step.word} {row.says}") in row.units


@EVERY_KIND
def test_a_quantity_outside_its_bounds_cannot_be_made(kind):
    row = ROWS[kind]
    for value in (row.lowest - 1, row.highest + 1, Decimal("NaN"), Decimal("Infinity")):
        with pytest.raises(ValueError, match="outside the bounds"):
            Quantity(kind, value)
