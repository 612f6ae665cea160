"""A reading is a point or a band, and a band counts only whole."""

from decimal import Decimal

import pytest

from kegsafe.rules.cleaning.readings import Fit, Reading, fit
from tests.rules.cleaning.cleaning_facts import at, band, d


@pytest.mark.parametrize(
    ("reading", "expected"),
    [
        (at(99), Fit.OUTSIDE),
        (at(100), Fit.INSIDE),
        (at(200), Fit.INSIDE),
        (at(201), Fit.OUTSIDE),
        (band(100, 200), Fit.INSIDE),
        (band(50, 100), Fit.UNRESOLVED),
        (band(50, 99), Fit.OUTSIDE),
        (band(200, 500), Fit.UNRESOLVED),
        (band(201, 500), Fit.OUTSIDE),
        (band(50, 500), Fit.UNRESOLVED),
        (band(150, None), Fit.UNRESOLVED),
        (band(201, None), Fit.OUTSIDE),
    ],
    ids=str,
)
def test_a_band_against_100_to_200(reading, expected):
    assert fit(reading, d(100), d(200)) is expected


def test_a_colour_past_the_last_block_is_inside_where_there_is_no_top():
    assert fit(band(150, None), d(100), None) is Fit.INSIDE
    assert fit(band(50, None), d(100), None) is Fit.UNRESOLVED


@pytest.mark.parametrize(
    ("reading", "words"),
    [
        (at(100), "100 mg/l"),
        (at(25_000), "2.5 %"),
        (band(50, 100), "between 50 mg/l and 100 mg/l"),
        (band(200, None), "200 mg/l or more"),
    ],
)
def test_a_reading_reads_as_a_person_says_it(reading, words):
    assert reading.in_words("mg/l") == words


@pytest.mark.parametrize("ends", [("-1", "5"), ("5", "4"), ("NaN", "5"), ("5", "Infinity")])
def test_a_reading_that_cannot_be_is_refused(ends):
    with pytest.raises(ValueError, match=r"block|0 or more"):
        Reading(*(Decimal(end) for end in ends))
