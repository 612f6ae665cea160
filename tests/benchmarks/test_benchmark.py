"""The benchmark measures on a database of its own and fails when a bound is broken."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from kegsafe.benchmarks.bar import open_bar
from kegsafe.benchmarks.management.commands import benchmark
from kegsafe.benchmarks.measuring import Comparison, compare, take_turns
from kegsafe.benchmarks.throw_away import throw_away_site
from kegsafe.venues.models import Venue


def _comparison(ratio):
    return Comparison("page", "lean page", ratio / 1000, 1 / 1000, ratio, 6)


@pytest.fixture
def measured(monkeypatch):
    """Let a section yield what it is told, on no database at all."""

    def with_ratio(ratio):
        monkeypatch.setattr(benchmark, "SECTIONS", {"page": lambda *_: iter([_comparison(ratio)])})

    return with_ratio


@pytest.mark.django_db
def test_it_leaves_the_records_alone():
    real = connection.settings_dict["NAME"]
    with throw_away_site():
        open_bar()
        assert Venue.objects.count() == 1
        assert connection.settings_dict["NAME"] != real
    assert connection.settings_dict["NAME"] == real
    assert not Venue.objects.exists()


@pytest.mark.django_db
def test_a_broken_bound_fails_the_command(measured):
    measured(6.1)
    printed = StringIO()
    with pytest.raises(CommandError, match=r"1 bound\(s\) broken") as failed:
        call_command("benchmark", stdout=printed)
    assert failed.value.returncode == 1
    assert "page: 6.10 ms; lean page: 1.00 ms; ratio 6.10, at most 6: BROKEN" in printed.getvalue()


@pytest.mark.django_db
def test_a_bound_kept_to_the_brim_is_kept(measured):
    measured(6.0)
    printed = StringIO()
    call_command("benchmark", stdout=printed)
    assert "at most 6: kept" in printed.getvalue()
    assert "may differ by 15%" in printed.getvalue()


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["kegs"], '"kegs" is no section. Choose from: pour-page, ledger'),
        (["ledger", "--rounds", "4"], "4 rounds tell too little. Ask for 5 or more."),
    ],
)
def test_what_cannot_be_measured_is_refused(arguments, sentence):
    with pytest.raises(CommandError) as refused:
        call_command("benchmark", *arguments)
    assert str(refused.value).startswith(sentence)
    assert refused.value.returncode == 2


def test_works_take_turns_in_every_round():
    order = []
    works = {"one": lambda: order.append("one"), "other": lambda: order.append("other")}
    seconds = take_turns(works, rounds=3, times=2)
    assert order == ["one", "other"] + ["one", "one", "other", "other"] * 3
    assert {name: len(rounds) for name, rounds in seconds.items()} == {"one": 3, "other": 3}


def test_the_ratio_is_the_median_of_the_rounds_not_of_a_disturbed_one():
    seconds = {"page": [2.0, 90.0, 2.2], "lean page": [1.0, 1.0, 1.0]}
    assert compare("page", "lean page", seconds, bound=6).ratio == 2.2
