"""The temperature round and the readings, as the people of a bar use them."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.messages import get_messages
from django.utils import timezone

from kegsafe.cold_chain.models import Reading
from kegsafe.cold_chain.services import record_reading
from kegsafe.equipment.models import Place
from kegsafe.ledger.services import last_sequence
from kegsafe.venues.services import set_local_limit
from tests.builders import a_person, a_place, a_recorder, a_venue
from tests.query_counts import queries_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def venue():
    return a_venue()


@pytest.fixture
def staff(client, venue):
    client.force_login(a_person(venue, "staff", name="jonas"))
    return client


@pytest.fixture
def manager(client, venue):
    client.force_login(a_person(venue, "manager"))
    return client


def _typed(temperatures, unit="°C", **more):
    data = {}
    for place, text in temperatures.items():
        data |= {f"place-{place.pk}_0": text, f"place-{place.pk}_1": unit}
    return {**data, **more}


def _a_reading(place, degc="3.2", **ago):
    return record_reading(
        place=place,
        read_at=timezone.now() - timedelta(**ago),
        temperature_degc=Decimal(degc),
        by=a_recorder(place.venue),
    )


def _errors(answer):
    return {name: " ".join(found) for name, found in answer.context["form"].errors.items()}


def _said(answer):
    return [str(message) for message in get_messages(answer.wsgi_request)]


def test_a_round_takes_the_places_that_were_read_and_leaves_out_the_others(staff, venue):
    walk_in, bar = a_place(venue), a_place(venue)
    answer = staff.post("/cold/", _typed({walk_in: "3.2", bar: ""}))
    assert _said(answer) == ["Recorded: 1 temperature."]
    reading = Reading.objects.get()
    assert (reading.place, reading.temperature_degc) == (walk_in, Decimal("3.20"))
    assert reading.recorded_by == "jonas"


def test_only_cold_places_are_in_the_round(staff, venue):
    for kind in Place.Kind:
        a_place(venue, name=f"The {kind.label}", kind=kind)
    page = staff.get("/cold/").content.decode()
    assert "The Freezer" in page
    assert "The Dry store" not in page


def test_the_last_temperature_stands_beside_each_place(staff, venue):
    place = a_place(venue)
    _a_reading(place, "4", hours=5)
    _a_reading(place, "3", hours=1, minutes=5)
    page = staff.get("/cold/").content.decode()
    # 3 °C are 37.4 °F: NIST SP 811 (2008), appendix B.9. [memory]
    assert "37.4 °F" in page
    assert "39.2 °F" not in page
    assert "1 h 5 min ago" in page


def test_nothing_typed_asks_for_one_temperature(staff, venue):
    answer = staff.post("/cold/", _typed({a_place(venue): ""}))
    assert "Type at least one: 3.2 or 38 F" in _errors(answer)["__all__"]


def test_what_cannot_be_read_is_told_at_its_place_and_nothing_is_recorded(staff, venue):
    walk_in, bar = a_place(venue), a_place(venue)
    answer = staff.post("/cold/", _typed({walk_in: "3.2", bar: "cold"}))
    assert list(_errors(answer)) == [f"place-{bar.pk}"]
    page = answer.content.decode()
    assert 'value="3.2"' in page
    assert 'value="cold"' in page
    assert not Reading.objects.exists()


@pytest.mark.parametrize(
    ("kind", "typed", "unit"),
    [
        ("fridge", "38", "°C"),
        ("fridge", "3", "°F"),
        ("freezer", "50.1", "°F"),
        ("freezer", "-41", "°C"),
    ],
)
def test_a_unit_that_was_probably_mixed_up_is_asked_about_once(staff, venue, kind, typed, unit):
    place = a_place(venue, kind=kind)
    answer = staff.post("/cold/", _typed({place: typed}, unit))
    assert "Look at the unit of the thermometer" in _errors(answer)[f"place-{place.pk}"]
    assert "I looked twice" in answer.content.decode()
    assert staff.post("/cold/", _typed({place: typed}, unit, is_sure="on")).status_code == 302
    assert Reading.objects.count() == 1


@pytest.mark.parametrize(("kind", "typed"), [("fridge", "25"), ("fridge", "-8"), ("freezer", "10")])
def test_an_unusual_temperature_up_to_the_edge_is_taken(staff, venue, kind, typed):
    place = a_place(venue, kind=kind)
    assert staff.post("/cold/", _typed({place: typed})).status_code == 302


def test_a_time_still_to_come_is_refused_at_its_field(staff, venue):
    typed = _typed({a_place(venue): "3.2"}, read_at="2999-01-01T00:00")
    assert "still to come" in _errors(staff.post("/cold/", typed))["read_at"]


@pytest.mark.parametrize(("typed", "is_told"), [("5", False), ("5.01", True)])
def test_whoever_reads_above_the_limit_is_sent_to_the_manager(staff, venue, typed, is_told):
    """FDA Food Code 3-501.16(A)(2): 5 °C (41 °F) or below. [read]"""
    place = a_place(venue, name="Walk-in")
    said = _said(staff.post("/cold/", _typed({place: typed})))
    assert any("Ask the manager" in each and "3-501.16" in each for each in said) == is_told


def test_a_freezer_is_not_held_against_the_chill_limit(staff, venue):
    said = _said(staff.post("/cold/", _typed({a_place(venue, kind="freezer"): "8"})))
    assert said == ["Recorded: 1 temperature."]


def test_a_stricter_limit_of_the_venue_counts(staff, venue):
    set_local_limit(
        venue=venue,
        rule="cold_holding.maximum",
        value=Decimal(4),
        valid_from=timezone.localdate() - timedelta(days=1),
        by=a_recorder(venue),
    )
    place = a_place(venue)
    said = _said(staff.post("/cold/", _typed({place: "4.5"})))
    assert any("Ask the manager" in each for each in said)


def test_where_the_code_names_no_temperature_the_page_says_so(client):
    """Regulation (EC) 852/2004, annex II chapter IX(5), names none. [second-hand]"""
    venue = a_venue("eu", "Europe/Berlin", units="metric")
    client.force_login(a_person(venue))
    _a_reading(a_place(venue), "7", hours=1)
    for url in ("/cold/", "/cold/readings/"):
        page = client.get(url).content.decode()
        assert "No limit to hold a reading against" in page
        assert "within" not in page.split("<main")[1].replace("within the", "")


def test_readings_are_listed_newest_first_each_against_the_limit(staff, venue):
    place = a_place(venue, name="Walk-in")
    _a_reading(place, "5", hours=2)
    _a_reading(place, "5.1", hours=1)
    rows = staff.get("/cold/readings/").context["rows"]
    assert [(str(reading.temperature_degc), bool(above)) for reading, above in rows] == [
        ("5.10", True),
        ("5.00", False),
    ]


def test_readings_are_found_by_place_and_person(staff, venue):
    walk_in, bar = a_place(venue), a_place(venue)
    _a_reading(walk_in, hours=1)
    _a_reading(bar, hours=1)
    for query, expected in (
        ({"place": bar.pk}, [bar]),
        ({"q": "mara", "place": walk_in.pk}, [walk_in]),
        ({"q": "nobody"}, []),
        ({"place": "x"}, [bar, walk_in]),
    ):
        rows = staff.get("/cold/readings/", query).context["rows"]
        assert [reading.place for reading, _above in rows] == expected


def test_a_manager_amends_a_reading_and_the_first_value_stays(manager, venue):
    reading = _a_reading(a_place(venue), "32", hours=1)
    url = f"/cold/readings/{reading.pk}/amend/"
    assert 'value="32"' in manager.get(url).content.decode()
    at = timezone.localtime(reading.read_at, venue.zone).strftime("%Y-%m-%dT%H:%M")
    typed = {
        "temperature_0": "3.2",
        "temperature_1": "°C",
        "read_at": at,
        "seen": last_sequence(reading),
        "reason": "Forgot the point",
    }
    assert manager.post(url, typed).status_code == 302
    amended = Reading.objects.get()
    assert (amended.temperature_degc, amended.read_at) == (Decimal("3.20"), reading.read_at)
    assert "32.00" in manager.get(f"/cold/readings/{reading.pk}/").content.decode()


def test_two_hundred_rows_take_as_many_queries_as_ten(staff, venue):
    def fill(count):
        for _each in range(count):
            _a_reading(a_place(venue), hours=1)

    fill(10)
    few = [queries_of(staff, url) for url in ("/cold/", "/cold/readings/")]
    fill(190)
    assert [queries_of(staff, url) for url in ("/cold/", "/cold/readings/")] == few
    assert max(few) <= 7


def test_readings_of_another_venue_are_not_found(manager):
    theirs = _a_reading(a_place(a_venue(name="Elsewhere"), name="Their cooler"), hours=1)
    for url in (f"/cold/readings/{theirs.pk}/", f"/cold/readings/{theirs.pk}/amend/"):
        assert manager.get(url).status_code == 404
    for url in ("/cold/", "/cold/readings/"):
        assert "Their cooler" not in manager.get(url).content.decode()


def test_a_place_of_another_venue_takes_no_reading_here(staff, venue):
    theirs = a_place(a_venue(name="Elsewhere"))
    answer = staff.post("/cold/", _typed({theirs: "3.2", a_place(venue): ""}))
    assert "Type at least one" in _errors(answer)["__all__"]
    assert not Reading.objects.exists()


def test_an_inspector_reads_the_round_but_records_nothing(client, venue):
    client.force_login(a_person(venue, "inspector"))
    place = a_place(venue)
    assert "Record the temperatures" not in client.get("/cold/").content.decode()
    assert client.post("/cold/", _typed({place: "3.2"})).status_code == 403
