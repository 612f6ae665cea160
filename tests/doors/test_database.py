"""The database keeps what it was given, for several people at once."""

import threading
from io import StringIO

import pytest
from django.contrib.auth.models import Group
from django.core.management import CommandError, call_command
from django.db import connection, transaction

from kegsafe.frame.checks import sqlite_doubt

PEOPLE, TURNS = 4, 15


@pytest.fixture
def only_on_sqlite():
    if connection.vendor != "sqlite":
        pytest.skip("This is about SQLite.")


def _ask(statement: str) -> object:
    with connection.cursor() as cursor:
        cursor.execute(statement)
        return cursor.fetchone()[0]


@pytest.mark.records
@pytest.mark.django_db(transaction=True)
def test_several_people_counting_at_once_lose_no_count():
    """Each reads and then writes: what SQLite refuses without immediate transactions."""
    Group.objects.create(id=1, name="0")
    errors: list[Exception] = []

    def count() -> None:
        try:
            for _turn in range(TURNS):
                with transaction.atomic():
                    counter = Group.objects.select_for_update().get(id=1)
                    counter.name = str(int(counter.name) + 1)
                    counter.save()
        except Exception as error:
            errors.append(error)
        finally:
            connection.close()

    people = [threading.Thread(target=count) for _person in range(PEOPLE)]
    for person in people:
        person.start()
    for person in people:
        person.join()
    assert errors == []
    assert Group.objects.get(id=1).name == str(PEOPLE * TURNS)


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize(
    ("pragma", "answer"),
    [("journal_mode", "wal"), ("synchronous", 2), ("foreign_keys", 1), ("busy_timeout", 20_000)],
)
def test_sqlite_writes_ahead_in_full_and_waits_its_turn(only_on_sqlite, pragma, answer):
    """https://www.sqlite.org/pragma.html: synchronous 2 is FULL; busy_timeout is in ms. [memory]"""
    assert _ask(f"PRAGMA {pragma}") == answer


@pytest.mark.django_db(transaction=True)
def test_check_database_finds_nothing_wrong_with_a_sound_file(only_on_sqlite):
    answer = StringIO()
    call_command("check_database", stdout=answer)
    assert "quick check:        ok" in answer.getvalue()
    assert "Nothing found that puts records at risk." in answer.getvalue()


@pytest.mark.django_db(transaction=True)
def test_check_database_fails_when_a_power_cut_would_lose_records(only_on_sqlite):
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA synchronous=OFF")
    try:
        with pytest.raises(CommandError, match='synchronous is "off" and should be "full"'):
            call_command("check_database", stdout=StringIO())
    finally:
        connection.close()


def test_check_database_says_so_when_the_file_is_no_database(only_on_sqlite, tmp_path, damaged):
    with pytest.raises(CommandError, match="The database cannot be read"):
        call_command("check_database", stdout=StringIO())


@pytest.fixture
def damaged(django_db_blocker, tmp_path, monkeypatch):
    """Point the connection at a file full of something else."""
    (tmp_path / "damaged.sqlite3").write_bytes(b"not a database, " * 1000)
    with django_db_blocker.unblock():
        connection.close()
        monkeypatch.setitem(connection.settings_dict, "NAME", str(tmp_path / "damaged.sqlite3"))
        yield
        connection.close()


@pytest.mark.parametrize("version", [(3, 40, 1), (3, 51, 2)])
def test_an_sqlite_up_to_3_51_2_is_warned_about(version):
    assert "3.51.3" in sqlite_doubt(version)


def test_sqlite_3_51_3_is_not_warned_about():
    assert sqlite_doubt((3, 51, 3)) is None
