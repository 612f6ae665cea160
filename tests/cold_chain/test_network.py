"""Readings over the network: by a token, idempotent, each told by itself."""

import json
import threading
from datetime import UTC, datetime, timedelta

import pytest
import schemathesis
from django.core.cache import cache
from django.db import connection
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import response_schema_conformance

from kegsafe.cold_chain import services
from kegsafe.cold_chain.models import HourOfReadings, LoggedReading
from kegsafe.cold_chain.views import network
from kegsafe.ledger.verification import verify_records
from kegsafe.wsgi import application
from tests.builders import a_place, a_recorder, a_venue

ADDRESS = "/cold/loggers/readings/"
MONDAY_S = int(datetime(2026, 4, 13, 8, 0, tzinfo=UTC).timestamp())


@pytest.fixture(autouse=True)
def _no_knocks_counted_yet():
    cache.clear()


@pytest.fixture
def logger(db):
    venue = a_venue()
    return services.add_logger(
        place=a_place(venue), name="Box", interval_s=60, by=a_recorder(venue)
    )


@pytest.fixture
def token(logger):
    return services.give_token(logger=logger, by=a_recorder(logger.place.venue))


def post(token, message, **more):
    body = message if isinstance(message, bytes) else json.dumps(message)
    return Client().post(
        ADDRESS,
        body,
        content_type=more.pop("content_type", "application/json"),
        headers={"Authorization": f"Bearer {token}"},
        **more,
    )


def kept():
    return dict(LoggedReading.objects.values_list("at_s", "centi_degc"))


def test_one_reading_is_kept_at_its_second(token):
    answer = post(token, {"at": "2026-04-13T09:00:00+01:00", "degc": 4.2})
    assert answer.status_code == 200
    assert kept() == {MONDAY_S: 420}


def test_a_message_leaves_the_loggers_own_record_as_the_ledger_has_it(token):
    """When it was last heard changes with each message, and is no part of what is proved."""
    post(token, {"at": MONDAY_S, "degc": 4.2})
    assert list(verify_records()) == []


def test_degrees_fahrenheit_are_rounded_to_the_warmer_hundredth(token):
    post(token, {"readings": [{"at": MONDAY_S, "degf": 41}, {"at": MONDAY_S + 60, "degf": 39}]})
    assert kept() == {MONDAY_S: 500, MONDAY_S + 60: 389}


def test_the_same_message_again_adds_nothing(token):
    message = {"readings": [{"at": MONDAY_S, "degc": 4}, {"at": MONDAY_S + 60, "degc": 5}]}
    post(token, message)
    again = post(token, message).json()
    assert (again["added"], again["repeated"], again["clashed"]) == (0, 2, 0)
    assert len(kept()) == 2


def test_of_two_values_for_one_second_the_warmer_stays(token):
    post(token, {"at": MONDAY_S, "degc": 4})
    assert post(token, {"at": MONDAY_S, "degc": 6}).json()["clashed"] == 1
    assert post(token, {"at": MONDAY_S, "degc": 5}).json()["clashed"] == 1
    assert kept() == {MONDAY_S: 600}


def test_a_bad_reading_among_good_ones_is_told_by_its_place_and_stops_none(token):
    answer = post(
        token,
        {"readings": [{"at": MONDAY_S, "degc": 4}, {"at": "yesterday", "degc": 4}, 7]},
    )
    assert answer.status_code == 200
    results = answer.json()["results"]
    assert [each["outcome"] for each in results] == ["kept", "refused", "refused"]
    assert results[1]["error"] == '"yesterday" is no time. Write 2026-04-07T13:45:00Z.'


@pytest.mark.parametrize(
    ("reading", "sentence"),
    [
        ({"degc": 4}, '"at" is missing'),
        ({"at": "2026-04-13T08:00:00", "degc": 4}, "has no offset"),
        ({"at": "1999-12-31T23:59:59Z", "degc": 4}, "before 2000: set the clock"),
        ({"at": "0001-01-01T00:00:00+14:00", "degc": 4}, ""),
        ({"at": 10**400, "degc": 4}, "ahead of"),
        ({"at": True, "degc": 4}, '"at" is missing'),
        ({"at": MONDAY_S}, "Give the temperature once"),
        ({"at": MONDAY_S, "degc": 4, "degf": 40}, "Give the temperature once"),
        ({"at": MONDAY_S, "degc": "4"}, '"degc" is no number'),
        ({"at": MONDAY_S, "degc": None}, '"degc" is no number'),
        ({"at": MONDAY_S, "degc": -127}, "error code or a wrong unit"),
        ({"at": MONDAY_S, "degc": 1e300}, "no temperature of a bar"),
        ({"at": MONDAY_S, "celsius": 4}, '"celsius" is no field of a reading'),
    ],
)
def test_a_reading_that_cannot_be_kept_is_told_why(token, reading, sentence):
    answer = post(token, reading)
    assert answer.status_code == 422
    assert sentence in answer.json()["results"][0]["error"]
    assert kept() == {}


def test_a_clock_that_runs_ahead_is_said_with_the_right_time(token):
    ahead = datetime.now(UTC) + timedelta(minutes=7)
    error = post(token, {"at": ahead.isoformat(), "degc": 4}).json()["results"][0]["error"]
    assert "set the clock of the logger" in error


@pytest.mark.parametrize(
    "body",
    [b" ", b"{", b"[]", b'"x"', b"null", b"NaN", b"\xff\xfe", b"[" * 100_000, b'{"readings":{}}'],
)
def test_a_message_that_is_none_is_refused_with_a_sentence(token, body):
    answer = post(token, body)
    assert answer.status_code == 400
    assert answer.json()["error"]


def test_too_many_readings_too_large_a_message_and_another_type_are_refused(token):
    many = {"readings": [{"at": MONDAY_S + k, "degc": 4} for k in range(1001)]}
    assert post(token, many).status_code == 400
    assert post(token, b" " * 300_000).status_code == 413
    assert post(token, b"at=1", content_type="text/plain").status_code == 415


@pytest.mark.parametrize("wrong", ["", "x", "Bearer", "é", "a" * 5000])
def test_without_the_right_token_nothing_is_kept(token, wrong):
    answer = post(wrong, {"at": MONDAY_S, "degc": 4})
    assert answer.status_code == 401
    assert kept() == {}


def test_a_revoked_token_opens_nothing(token, logger):
    services.revoke_token(logger=logger, by=a_recorder(logger.place.venue))
    assert post(token, {"at": MONDAY_S, "degc": 4}).status_code == 401


def test_a_new_token_ends_the_old_one(token, logger):
    new = services.give_token(logger=logger, by=a_recorder(logger.place.venue))
    assert post(token, {"at": MONDAY_S, "degc": 4}).status_code == 401
    assert post(new, {"at": MONDAY_S, "degc": 4}).status_code == 200


def test_a_token_reads_nothing(token):
    client = Client(headers={"Authorization": f"Bearer {token}"})
    assert client.get(ADDRESS).status_code == 405
    assert client.get("/cold/readings/").status_code == 302


def test_a_logger_that_sends_too_often_is_slowed_down(token, monkeypatch):
    monkeypatch.setattr(network, "MOST_A_MINUTE", 2)
    answers = [post(token, {"at": MONDAY_S + k, "degc": 4}).status_code for k in range(3)]
    assert answers == [200, 200, 429]


def test_guessing_tokens_is_slowed_down(token, monkeypatch):
    monkeypatch.setattr(network, "MOST_WRONG_A_MINUTE", 2)
    answers = [post("wrong", {"at": MONDAY_S, "degc": 4}).status_code for _ in range(3)]
    assert answers == [401, 401, 429]


@pytest.mark.django_db(transaction=True)
def test_fifty_loggers_at_once_lose_nothing():
    """Each sends three messages of two readings; two loggers to a place."""
    venue = a_venue()
    by = a_recorder(venue)
    places = [a_place(venue) for _ in range(25)]
    tokens = []
    for number in range(50):
        each = services.add_logger(
            place=places[number % 25], name=f"Box {number}", interval_s=60, by=by
        )
        tokens.append((number, services.give_token(logger=each, by=by)))
    answers: list[int] = []

    def send(number: int, token: str) -> None:
        for k in range(3):
            first = MONDAY_S + 3600 * k + number
            message = [{"at": first, "degc": 4}, {"at": first + 600, "degc": 5}]
            answers.append(post(token, {"readings": message}).status_code)
        connection.close()

    threads = [threading.Thread(target=send, args=each) for each in tokens]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert answers == [200] * 150
    assert LoggedReading.objects.count() == 300
    assert sum(HourOfReadings.objects.values_list("readings", flat=True)) == 300


@pytest.mark.django_db(transaction=True)
def test_the_address_does_what_its_openapi_document_says(monkeypatch):
    """A tool that knows only the document makes up messages, right ones and wrong ones."""
    monkeypatch.setattr(network, "MOST_A_MINUTE", 1_000_000)
    venue = a_venue()
    each = services.add_logger(
        place=a_place(venue), name="Box", interval_s=60, by=a_recorder(venue)
    )
    token = services.give_token(logger=each, by=a_recorder(venue))
    schema = schemathesis.openapi.from_wsgi(reverse("logger-openapi"), application)
    operations = [found.ok() for found in schema.get_all_operations()]
    assert [operation.path for operation in operations] == [ADDRESS]
    seen: set[int] = set()

    @given(case=operations[0].as_strategy())
    @settings(max_examples=100, suppress_health_check=list(HealthCheck))
    def run(case):
        case.headers["Authorization"] = f"Bearer {token}"
        answer = case.call()
        case.validate_response(answer, checks=[not_a_server_error, response_schema_conformance])
        seen.add(answer.status_code)

    run()
    assert {200, 422} & seen
    assert seen <= {200, 400, 422}
