"""Conversion factors of NIST Special Publication 811 (2008), Appendix B.8. [memory]

The figures are as that table prints them, seven figures at most; none was looked up
for this test, so each carries the tag `memory`.
"""

from decimal import Decimal

import pytest

from kegsafe.quantities import Kind, read


@pytest.mark.parametrize(
    ("typed", "kind", "published", "places"),
    [
        ("1 psi", Kind.GAUGE_PRESSURE, "6894.757", 3),
        ("1 psia", Kind.ABSOLUTE_PRESSURE, "6894.757", 3),
        ("1 bar", Kind.GAUGE_PRESSURE, "100000", 0),
        ("1 inHg abs", Kind.ABSOLUTE_PRESSURE, "3386.389", 3),
        ("1 mmHg abs", Kind.ABSOLUTE_PRESSURE, "133.3224", 4),
        ("1 gal", Kind.VOLUME, "3785.412", 3),
        ("1 qt", Kind.VOLUME, "946.3529", 4),
        ("1 pint", Kind.VOLUME, "473.1765", 4),
        ("1 cup", Kind.VOLUME, "236.5882", 4),
        ("1 fl oz", Kind.VOLUME, "29.57353", 5),
        ("1 tbsp", Kind.VOLUME, "14.78676", 5),
        ("1 tsp", Kind.VOLUME, "4.928922", 6),
        ("1 imp gal", Kind.VOLUME, "4546.09", 2),
        ("1 imp fl oz", Kind.VOLUME, "28.41306", 5),
        ("1 oz", Kind.MASS, "28.34952", 5),
        ("1 lb", Kind.MASS, "453.5924", 4),
        ("1 ft3", Kind.ROOM_VOLUME, "0.02831685", 8),
        ("1 in", Kind.LENGTH, "0.0254", 4),
        ("1 ft", Kind.LENGTH, "0.3048", 4),
        ("1 oz/gal", Kind.CONCENTRATION, "7489.152", 3),
        ("1 lb/gal", Kind.CONCENTRATION, "119826.4", 1),
        ("1 gal/min", Kind.FLOW, "3.785412", 6),
        ("1 ft/min", Kind.SPEED, "0.00508", 5),
        ("1 lb/ft3", Kind.DENSITY, "0.01601846", 8),
    ],
)
def test_a_unit_is_as_large_as_its_published_factor(typed, kind, published, places):
    assert round(read(typed, kind).value, places) == Decimal(published)


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"),
    [
        ("32", "0"),
        ("41", "5"),
        ("39.2", "4"),
        ("212", "100"),
        ("-40", "-40"),
        ("-459.67", "-273.15"),
    ],
)
def test_fahrenheit_is_exact_in_celsius(fahrenheit, celsius):
    """t/°C = (t/°F - 32)/1.8: NIST SP 811, B.8. [memory]"""
    assert read(f"{fahrenheit} °F", Kind.TEMPERATURE).value == Decimal(celsius)
