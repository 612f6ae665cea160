"""The page of a place, its excursions and what is done about them; probes; what cools."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from kegsafe.cold_chain import services
from kegsafe.cold_chain.models import (
    CoolingRecord,
    CorrectiveAction,
    ImportedLog,
    LogFile,
    LoggedReading,
    Logger,
    PlaceCooling,
    Thermometer,
)
from kegsafe.ledger.verification import verify_records
from tests.builders import a_person, a_place, a_recorder, a_venue
from tests.cold_chain.test_imports import a_file, take_in
from tests.query_counts import queries_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def venue():
    return a_venue("england", "Europe/London", units="metric")


@pytest.fixture
def place(venue):
    return a_place(venue, name="Walk-in")


@pytest.fixture
def manager(client, venue):
    client.force_login(a_person(venue, "manager", name="petra"))
    return client


def read_now(place, degc, **ago):
    services.record_reading(
        place=place,
        read_at=timezone.now() - timedelta(**ago),
        temperature_degc=Decimal(degc),
        by=a_recorder(place.venue),
    )


def page_of(client, place, query=""):
    return client.get(reverse("cold-place", args=[place.pk]) + query).content.decode()


def test_an_open_excursion_is_seen_on_the_round_and_asks_for_a_corrective_action(manager, place):
    read_now(place, "4", hours=3)
    read_now(place, "9.5", hours=1)
    shown = manager.get("/cold/").content.decode()
    assert "is above its limit" in shown
    assert "No corrective action is on record" in shown
    [warm] = manager.get("/cold/").context["warm"]
    form = reverse("cold-action", args=[place.pk, warm.excursion.from_s])
    manager.post(form, {"what": "Moved both kegs to the cellar."})
    assert CorrectiveAction.objects.get().taken_by == "petra"
    shown = manager.get("/cold/").content.decode()
    assert "is above its limit" in shown
    assert "No corrective action" not in shown


def test_an_excursion_that_is_over_is_not_forgotten_until_somebody_says_what_was_done(
    manager, place
):
    for degc, hours in (("4", 6), ("9.5", 4), ("4", 2)):
        read_now(place, degc, hours=hours)
    [warm] = manager.get("/cold/").context["warm"]
    assert not warm.excursion.is_open
    services.record_action(
        place=place,
        excursion_from_s=warm.excursion.from_s,
        what="Door was open.",
        taken_at=timezone.now(),
        by=a_recorder(place.venue),
    )
    assert manager.get("/cold/").context["warm"] == []


def test_the_page_of_a_place_shows_its_excursion_with_its_numbers(manager, place):
    now = timezone.now()
    for degc, minutes in (("4", 50), ("9.5", 30), ("4", 20)):
        read_now(place, degc, minutes=minutes)
    shown = page_of(manager, place, f"?span=week&day={now:%Y-%m-%d}")
    assert "30 min above the limit" in shown
    assert "warmest 9.5 °C" in shown


@pytest.mark.parametrize("span", ["day", "week", "month", "year", "nonsense"])
def test_a_place_is_drawn_over_every_stretch(manager, place, span):
    take_in(place, a_file(*["3"] * 50, "9", *["3"] * 50))
    query = f"?span={span}&day=2026-04-13"
    assert "as a table" in page_of(manager, place, query)
    for size in ("wide", "narrow"):
        answer = manager.get(reverse("cold-chart", args=[place.pk, size]) + query)
        assert answer["Content-Type"] == "image/svg+xml"
        assert b"<svg" in answer.content
    assert manager.get(reverse("cold-chart", args=[place.pk, "huge"])).status_code == 404


@pytest.mark.parametrize("day", ["", "x", "2026-02-31", "0001-01-01", "9999-12-31"])
def test_a_day_that_is_none_shows_another_and_breaks_nothing(manager, place, day):
    assert "Walk-in" in page_of(manager, place, f"?day={day}")


def test_a_short_spike_is_seen_however_long_the_stretch(manager, place):
    take_in(place, a_file(*["3"] * 700, "11.5", *["3"] * 700))
    rows = manager.get(
        reverse("cold-place", args=[place.pk]) + "?span=year&day=2026-12-01"
    ).context["rows"]
    year = manager.get(
        reverse("cold-place", args=[place.pk]) + "?span=month&day=2026-04-20"
    ).context["rows"]
    assert max(row["warmest"] for row in [*rows, *year]) == Decimal("11.5")


def test_the_page_makes_the_same_queries_for_few_readings_and_for_many(manager, place, venue):
    busy = a_place(venue)
    take_in(place, a_file("3", "9"))
    take_in(busy, a_file(*["3", "9"] * 600))
    few, many = (
        queries_of(manager, reverse("cold-place", args=[each.pk]) + "?day=2026-04-13")
        for each in (place, busy)
    )
    assert few == many


def test_a_places_own_limit_counts_where_it_is_stricter(manager, place):
    read_now(place, "6", hours=1)
    assert manager.get("/cold/").context["warm"] == []
    address = reverse("cold-place-cooling", args=[place.pk])
    manager.post(address, {"limit_degc_0": "5", "limit_degc_1": "°C", "probe_in": "air"})
    assert PlaceCooling.objects.get().limit_degc == 5
    assert len(manager.get("/cold/").context["warm"]) == 1
    manager.post(
        address,
        {"limit_degc_0": "20", "limit_degc_1": "°C", "probe_in": "air", "reason": "a trial"},
    )
    assert page_of(manager, place).count("20 °C") == 0
    assert list(verify_records()) == []


def test_a_thermometer_that_failed_its_check_makes_its_readings_doubtful(manager, venue, place):
    probe = services.add_thermometer(
        venue=venue, name="Probe 1", is_air=False, by=a_recorder(venue)
    )
    services.set_cooling(place=place, values={"thermometer": probe}, by=a_recorder(venue))
    address = reverse("thermometer", args=[probe.pk])
    manager.post(address, {"method": "ice_point", "read_degc_0": "0.3", "read_degc_1": "°C"})
    assert "doubtful" not in page_of(manager, place)
    manager.post(address, {"method": "ice_point", "read_degc_0": "3", "read_degc_1": "°C"})
    assert probe.checks.count() == 2
    assert "are doubtful: the thermometer failed its check" in page_of(manager, place)
    assert "doubtful" in manager.get(address).content.decode()


def test_a_boiling_check_without_altitude_or_barometer_shows_nothing(manager, venue):
    manager.post(reverse("thermometer-add"), {"name": "Probe 2"})
    probe = Thermometer.objects.get()
    address = reverse("thermometer", args=[probe.pk])
    manager.post(address, {"method": "boiling_point", "read_degc_0": "99", "read_degc_1": "°C"})
    assert "give the altitude or the pressure" in manager.get(address).content.decode()
    manager.post(
        address,
        {
            "method": "boiling_point",
            "read_degc_0": "95",
            "read_degc_1": "°C",
            "altitude": "1500 m",
        },
    )
    assert "boiling water it read 95 °C (203 °F)" in manager.get(address).content.decode()
    assert "never checked" not in manager.get(reverse("thermometers")).content.decode()


def test_an_altitude_no_bar_has_is_refused_at_its_field(manager, venue):
    manager.post(reverse("thermometer-add"), {"name": "Probe 2"})
    address = reverse("thermometer", args=[Thermometer.objects.get().pk])
    answer = manager.post(
        address,
        {"method": "boiling_point", "read_degc_0": "95", "read_degc_1": "°C", "altitude": "9000 m"},
    )
    assert "altitude" in answer.context["form"].errors


def test_a_cooling_is_timed_stage_by_stage(manager, venue):
    begun = timezone.localtime() - timedelta(hours=3)
    manager.post(
        reverse("cooling-add"),
        {
            "what": "Ginger syrup",
            "procedure": "hot",
            "degc_0": "80",
            "degc_1": "°C",
            "began_at": f"{begun:%Y-%m-%dT%H:%M}",
        },
    )
    cooling = CoolingRecord.objects.get()
    shown = manager.get(cooling.get_absolute_url()).content.decode()
    assert "Not at 21 °C" in shown
    assert "a stage was not reached in time" in manager.get(reverse("coolings")).content.decode()
    manager.post(cooling.get_absolute_url(), {"degc_0": "200", "degc_1": "°C"})
    assert cooling.readings.count() == 1


# A logger's file on the page


def send(client, place, content, name="april.csv", **more):
    return client.post(
        reverse("cold-log-add", args=[place.pk]),
        {"file": SimpleUploadedFile(name, content), **more},
    )


AMBIGUOUS = b"When,Value\n03/04/2026 10:00,38.5\n03/04/2026 10:15,39\n"


def test_a_file_is_looked_at_before_anything_is_recorded(manager, place):
    answer = send(manager, place, a_file("3.1", "3.2"))
    kept = LogFile.objects.get()
    assert answer.url == kept.get_absolute_url()
    shown = manager.get(answer.url)
    assert [row["degc"] for row in shown.context["rows"]] == [Decimal("3.1"), Decimal("3.2")]
    assert not LoggedReading.objects.exists()


def test_what_the_file_does_not_say_is_asked_and_remembered_for_its_logger(manager, place, venue):
    logger = services.add_logger(place=place, name="Grey box", interval_s=900, by=a_recorder(venue))
    address = send(manager, place, AMBIGUOUS, logger=logger.pk).url
    asked = manager.get(address).context
    assert (len(asked["questions"]), asked["rows"]) == (3, [])
    answers = {
        "time_columns": "0",
        "temperature_column": "1",
        "unit": "degF",
        "decimal": ".",
        "date_order": "dmy",
        "zone": "Europe/London",
    }
    looked = manager.post(address, {**answers, "look": "1"}).context
    assert looked["rows"][0]["degc"] == Decimal("3.62")
    assert not ImportedLog.objects.exists()
    done = manager.post(address, answers)
    assert done.url == ImportedLog.objects.get().get_absolute_url()
    assert "3 Apr 2026" in manager.get(done.url).content.decode()
    assert not LogFile.objects.exists()
    again = send(manager, place, AMBIGUOUS.replace(b"10:", b"12:"), logger=logger.pk).url
    assert manager.get(again).context["questions"] == []


def test_a_file_that_is_no_log_is_refused_with_a_sentence(manager, place):
    answer = send(manager, place, b"\x89PNG\r\n\x1a\n" + bytes(range(256)))
    assert "This is no text file" in str(answer.context["form"].errors["file"])
    assert not LogFile.objects.exists()


def test_a_bad_zone_is_said_at_its_field_and_a_column_used_twice_above(manager, place):
    address = send(manager, place, AMBIGUOUS).url
    typed = {
        "time_columns": "0",
        "temperature_column": "0",
        "unit": "degF",
        "decimal": ".",
        "date_order": "dmy",
        "zone": "Mars",
    }
    assert "no time zone" in str(manager.post(address, typed).context["form"].errors["zone"])
    answer = manager.post(address, {**typed, "zone": "UTC"})
    assert "chosen from the same column" in str(answer.context["form"].non_field_errors())


def test_a_doubtful_file_is_asked_about_and_imported_only_when_somebody_looked(manager, place):
    content = a_file("3.1") + b"time,temperature (\xc2\xb0F)\n2026-04-13T09:00:00Z,39\n"
    address = send(manager, place, content).url
    first = _shown(manager.get(address))
    answer = manager.post(address, first)
    assert "another unit may follow" in answer.context["doubts"][0]
    assert not LoggedReading.objects.exists()
    manager.post(address, {**first, "accept_doubts": "on"})
    assert ImportedLog.objects.get().doubts_accepted


def _shown(answer):
    form = answer.context["form"]
    return {name: form[name].value() or "" for name in form.fields if name != "accept_doubts"}


def test_a_token_is_shown_once_and_only_its_hash_is_kept(manager, place):
    manager.post(reverse("cold-logger-add", args=[place.pk]), {"name": "Box"})
    logger = Logger.objects.get()
    address = reverse("cold-logger", args=[logger.pk])
    token = manager.post(address, {"act": "give"}).context["token"]
    logger.refresh_from_db()
    assert token not in str(vars(logger))
    assert token not in manager.get(address).content.decode()
    manager.post(address, {"act": "revoke"})
    logger.refresh_from_db()
    assert not logger.may_send
    assert list(verify_records()) == []
