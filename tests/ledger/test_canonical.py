"""A record is written down in one way only."""

from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal

import pytest

from kegsafe.equipment.models import Keg
from kegsafe.ledger.canonical import canonical_json, entry_hash, snapshot

NEW_YORK = timezone(timedelta(hours=-4))


def test_keys_are_sorted_and_nothing_is_spaced():
    assert canonical_json({"b": 2, "a": "é"}) == '{"a":"é","b":2}'


def test_one_moment_in_two_zones_is_one_text():
    at_the_bar = datetime(2026, 4, 7, 13, 30, tzinfo=NEW_YORK)
    in_utc = datetime(2026, 4, 7, 17, 30, tzinfo=UTC)
    assert canonical_json({"at": at_the_bar}) == canonical_json({"at": in_utc})
    assert canonical_json({"at": in_utc}) == '{"at":"2026-04-07T17:30:00.000000+00:00"}'


def test_a_day_and_a_set_are_written_in_order():
    written = canonical_json({"on": date(2026, 4, 7), "who": {"petra", "jonas"}})
    assert written == '{"on":"2026-04-07","who":["jonas","petra"]}'


def test_a_float_is_refused_as_it_prints_differently_elsewhere():
    with pytest.raises(TypeError, match="write a measured number as a Decimal"):
        canonical_json({"ph": 3.4})


def test_a_decimal_has_the_places_of_its_field_whatever_the_database_gives_back():
    short, long = Keg(capacity_ml=Decimal(19_000)), Keg(capacity_ml=Decimal("19000.0"))
    short.label_code = long.label_code = "aaaaaaaaaa"
    assert snapshot(short) == snapshot(long)
    assert '"capacity_ml":"19000.0"' in snapshot(short)


def test_the_hash_is_the_sha256_of_the_fields_one_a_line():
    """Reckoned with sha256sum of GNU coreutils, from the lines as the docstring orders them."""
    digest = entry_hash(
        chain="c1",
        sequence=1,
        recorded_at_us=1_700_000_000_000_000,
        person="mara",
        action="added",
        subject="equipment.keg:1",
        previous_hash="0" * 64,
        record='{"id":1,"name":"K1"}',
        detail="{}",
    )
    assert digest == "0ee9d8ff5b5b510c04f6e1343a819ba17d4a0bc3bd817e0b9cdb2fd466dd3266"
