"""The interaction tables of pH and water activity.

Source: FDA Food Code 1-201.10, definition of TCS food, Tables A and B, as adopted by Tennessee
(0080-04-09-.01) and Nevada (NAC 446.025). [read] Texas and Georgia print row 1 of Table A as
below 0.92, so that exactly 0.92 falls nowhere; the reading "0.92 or below" is kept. [read]
"""

from decimal import Decimal

import pytest

from kegsafe.rules.tcs import table_result

UNKNOWN = None


@pytest.mark.parametrize(
    ("table", "ph", "aw", "expected"),
    [
        pytest.param("B", "4.19", "0.99", "N", id="B01"),
        pytest.param("B", "4.20", "0.99", "PA", id="B02"),
        pytest.param("B", "4.60", "0.92", "N", id="B03"),
        pytest.param("B", "4.60", "0.921", "PA", id="B04"),
        pytest.param("B", "4.61", "0.92", "PA", id="B05"),
        pytest.param("B", "4.61", "0.90", "N", id="B06"),
        pytest.param("B", "5.00", "0.90", "N", id="B07"),
        pytest.param("B", "5.01", "0.90", "PA", id="B08"),
        pytest.param("B", "5.01", "0.88", "PA", id="B09"),
        pytest.param("B", "7.00", "0.879", "N", id="B10"),
        pytest.param("B", "4.20", "0.92", "N", id="B11"),
        pytest.param("B", "6.50", "0.935", "PA", id="B12"),
        pytest.param("B", "3.00", UNKNOWN, "N", id="B13"),
        pytest.param("B", "4.30", UNKNOWN, "PA", id="B14"),
        pytest.param("B", UNKNOWN, "0.87", "N", id="B15"),
        pytest.param("B", UNKNOWN, "0.88", "PA", id="B16"),
        pytest.param("A", "4.60", "0.99", "N", id="A01"),
        pytest.param("A", "4.61", "0.951", "PA", id="A02"),
        pytest.param("A", "5.60", "0.95", "N", id="A03"),
        pytest.param("A", "5.61", "0.95", "PA", id="A04"),
        pytest.param("A", "7.00", "0.92", "N", id="A05"),
        pytest.param("A", "5.61", "0.921", "PA", id="A06"),
        pytest.param("A", "5.60", "0.951", "PA", id="A07"),
        pytest.param("A", "4.60", UNKNOWN, "N", id="A08"),
        pytest.param("A", UNKNOWN, "0.92", "N", id="A09"),
        pytest.param("A", UNKNOWN, "0.93", "PA", id="A10"),
    ],
)
def test_the_tables_at_their_boundaries(table, ph, aw, expected):
    measured = [None if value is None else Decimal(value) for value in (ph, aw)]
    assert table_result(table, *measured) == expected
