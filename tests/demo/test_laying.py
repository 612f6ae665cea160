"""The demo is laid whole or not at all, keeps what was entered, and reads its round anew."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
import time_machine
from django.contrib.auth import authenticate
from django.core.management import CommandError, call_command
from django.test import RequestFactory
from django.utils import timezone

from kegsafe.cold_chain.models import Reading
from kegsafe.cold_chain.queries.gaps import gaps_of
from kegsafe.cold_chain.services import record_reading
from kegsafe.demo import acts
from kegsafe.demo.laying import days_since_laid, lay, read_temperatures_anew
from kegsafe.demo.scenario import BadScenario, read_scenario
from kegsafe.equipment.models import Place
from kegsafe.ledger.models import Entry
from kegsafe.stock.facts import house
from kegsafe.venues.models import Venue
from tests.builders import a_recorder
from tests.laid_demo import SCENARIO

pytestmark = pytest.mark.django_db

NOON = datetime(2026, 6, 10, 16, 0, tzinfo=UTC)
BAR = "The Lantern and Otter"


@pytest.fixture
def scenario():
    return read_scenario(SCENARIO)


@pytest.fixture
def demo(settings, capsys):
    """Run the command without serving, and return what it printed."""
    settings.DEMO = True

    def run(**options: bool) -> str:
        call_command("demo", no_serve=True, **options)
        return capsys.readouterr().out

    return run


def test_the_first_start_lays_the_day_and_says_who_signs_in(demo):
    printed = demo()
    assert "Laying the demo's day" in printed
    assert Venue.objects.count() == 2
    for name in ("staff", "manager", "owner", "inspector"):
        assert name in printed


def test_everybody_signs_in_with_the_password_that_is_printed(demo, scenario):
    printed = demo()
    for person in scenario.people:
        assert person.password in printed
        request = RequestFactory().post("/")
        user = authenticate(request, username=person.username, password=person.password)
        assert user is not None


def test_a_second_start_keeps_what_was_entered(demo):
    with time_machine.travel(NOON, tick=False):
        demo()
        walk_in = Place.objects.get(name="Walk-in")
        typed = record_reading(
            place=walk_in,
            read_at=timezone.now(),
            temperature_degc=Decimal("4.4"),
            by=a_recorder(walk_in.venue),
        )
        printed = demo()
    assert "Laying" not in printed
    assert Reading.objects.filter(place=walk_in).first() == typed


def test_a_start_on_a_later_day_says_how_old_the_day_is_and_reads_the_round_anew(demo):
    with time_machine.travel(NOON, tick=False):
        demo()
    with time_machine.travel(NOON + timedelta(days=3), tick=False):
        printed = demo()
    assert "The demo's day was laid 3 days ago; --reset lays it anew." in printed
    assert 'Read anew, as "the demo": Tap cooler, Walk-in, Cold room.' in printed


def test_the_loggers_went_on_writing_while_nobody_looked(demo, scenario):
    with time_machine.travel(NOON, tick=False):
        demo()
    later = NOON + timedelta(days=1)
    with time_machine.travel(later, tick=False):
        read_temperatures_anew(scenario, timezone.now())
        bar = Venue.objects.get(name=BAR)
        unread = gaps_of(bar.places.all(), house(bar), NOON, later, later)
    # Of the fridge that was too warm at the end all counts as above.
    assert [each.place.name for each in unread if each.parts] == ["Cellar cooler"]


def test_the_place_with_the_old_reading_keeps_it(demo, scenario):
    with time_machine.travel(NOON, tick=False):
        demo()
    later = NOON + timedelta(days=1)
    with time_machine.travel(later, tick=False):
        read_temperatures_anew(scenario, timezone.now())
    newest = Reading.objects.filter(place__name="Cellar cooler").first()
    assert newest.read_at == NOON - timedelta(hours=9)


def test_a_place_somebody_read_since_is_left_alone(demo, scenario):
    with time_machine.travel(NOON, tick=False):
        demo()
    with time_machine.travel(NOON + timedelta(days=1), tick=False):
        walk_in = Place.objects.get(name="Walk-in")
        record_reading(
            place=walk_in,
            read_at=timezone.now() - timedelta(hours=1),
            temperature_degc=Decimal("9.9"),
            by=a_recorder(walk_in.venue),
        )
        places = read_temperatures_anew(scenario, timezone.now())
    assert [place.name for place in places] == ["Tap cooler", "Cold room"]


def test_the_age_of_the_day_is_counted_by_the_bars_own_calendar(scenario):
    evening = datetime(2026, 6, 11, 3, 0, tzinfo=UTC)  # 23:00 in New York
    with time_machine.travel(evening, tick=False):
        lay(scenario, timezone.now())
    bar = Venue.objects.get(name=BAR)
    assert days_since_laid(bar, evening + timedelta(minutes=50)) == 0
    assert days_since_laid(bar, evening + timedelta(minutes=70)) == 1


def test_an_interrupted_start_keeps_nothing(demo, monkeypatch):
    def interrupt(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setitem(acts.ACTS, "prepare", interrupt)
    with pytest.raises(SystemExit) as ended:
        demo()
    assert ended.value.code == 130
    assert not Venue.objects.exists()
    assert not Entry.objects.exists()


def test_a_scenario_that_a_service_refuses_names_the_act(scenario, monkeypatch):
    def refuse(*_: object, **__: object) -> None:
        raise BadScenario('there is no lot called "rum" yet')

    monkeypatch.setitem(acts.ACTS, "mix", refuse)
    with pytest.raises(BadScenario, match=rf"{BAR}, bars, act 3 \(mix\): there is no lot called"):
        lay(scenario, timezone.now())
    assert not Venue.objects.exists()


def test_outside_the_demo_the_command_touches_nothing(settings):
    settings.DEMO = False
    with pytest.raises(CommandError, match="keeps to its own database"):
        call_command("demo", no_serve=True, reset=True, yes=True)


def test_a_reset_that_nobody_agrees_to_throws_nothing_away(demo, monkeypatch):
    demo()
    monkeypatch.setattr("builtins.input", lambda question: "no")
    with pytest.raises(CommandError, match="Nothing was thrown away"):
        demo(reset=True)
    assert Venue.objects.count() == 2


def test_a_reset_that_nobody_answers_throws_nothing_away(demo, monkeypatch):
    def nobody(question: str) -> str:
        raise EOFError

    monkeypatch.setattr("builtins.input", nobody)
    with pytest.raises(CommandError, match="Add --yes"):
        demo(reset=True)
