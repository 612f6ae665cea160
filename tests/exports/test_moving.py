"""A venue that moves house arrives whole: equal rows, ledger and verdicts, and it verifies."""

import json
import os
import subprocess
import sys
import tempfile
import tracemalloc
import zipfile
from datetime import timedelta
from io import StringIO
from pathlib import Path

import pytest
from django.contrib.auth.models import User
from django.core.management import call_command
from django.core.management.base import CommandError
from django.utils import timezone

from kegsafe.cold_chain.models import LoggedReading
from kegsafe.exports.moving.packing import pack
from kegsafe.frame.documents import stored_path
from kegsafe.pressure.models import Document
from kegsafe.venues.models import Venue
from tests.builders import a_fill, a_keg, a_place, a_venue
from tests.exports.conftest import PAPER
from tests.exports.standing import standing_of_all
from tests.laid_demo import laid_demo

PROJECT = Path(__file__).parents[2]

pytestmark = [pytest.mark.django_db, pytest.mark.records]


def move_in(path) -> str:
    said = StringIO()
    call_command("import_venue", str(path), stdout=said)
    return said.getvalue()


def test_both_bars_of_the_demo_stand_in_a_new_database_as_they_did_in_the_old(tmp_path):
    """By the commands alone, in a process that makes its own tables."""
    now = timezone.now() + timedelta(minutes=5)
    with laid_demo(timezone.now()):
        files = [tmp_path / f"{number}.zip" for number in range(Venue.objects.count())]
        for venue, file in zip(Venue.objects.order_by("pk"), files, strict=True):
            call_command("export_venue", venue.name, str(file), stdout=StringIO())
        before = json.loads(json.dumps(standing_of_all(now)))
    there = _in_a_new_house(tmp_path, now, files)
    assert "Every record says what its last entry says." in there["said"]
    for name, standing in before.items():
        assert standing["verdicts"]
        assert there["venues"][name] == standing


def _in_a_new_house(folder, now, files):
    surroundings = {
        name: value for name, value in os.environ.items() if not name.startswith("PYTEST_")
    }
    surroundings |= {
        "KEGSAFE_DATA": str(folder / "data"),
        "DJANGO_SETTINGS_MODULE": "kegsafe.settings",
    }
    done = subprocess.run(
        [sys.executable, "-m", "tests.exports.a_new_house", now.isoformat(), *map(str, files)],
        cwd=PROJECT,
        env=surroundings,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_a_bar_goes_on_working_where_it_moved_to(packed):
    """New records get keys after those that came, on PostgreSQL too, and the chain goes on."""
    move_in(packed)
    venue = Venue.objects.get()
    last = venue.chain.head_sequence
    a_fill(venue, keg=None)
    venue.chain.refresh_from_db()
    assert venue.chain.head_sequence > last
    call_command("verify_ledger", stdout=StringIO())


def test_a_document_arrives_with_its_bytes(packed):
    move_in(packed)
    assert stored_path(Document.objects.get()).read_bytes() == PAPER


def test_no_password_and_no_rights_over_the_site_come_along(bar, emptied, tmp_path):
    User.objects.update(is_superuser=True, is_staff=True)
    call_command("export_venue", bar.name, str(tmp_path / "bar.zip"))
    hashes = list(User.objects.values_list("password", flat=True))
    emptied()
    said = move_in(tmp_path / "bar.zip")
    people = list(User.objects.all())
    assert len(people) == len(hashes) == 2
    assert not any(person.has_usable_password() for person in people)
    assert not any(person.is_superuser or person.is_staff for person in people)
    assert "No password came along" in said
    assert "changepassword" in said


def test_who_has_an_account_here_keeps_it(bar, emptied, tmp_path):
    """Two bars of one house move one after the other; their people are the same people."""
    owner = bar.memberships.get(role="owner").user
    other = a_venue(name="The Tin Heron", owner=owner)
    a_keg(other)
    for venue in (bar, other):
        call_command("export_venue", venue.name, str(tmp_path / f"{venue.pk}.zip"))
    emptied()
    move_in(tmp_path / f"{bar.pk}.zip")
    owner = User.objects.get(username=owner.username)
    owner.set_password("amber-kettle-43")
    owner.save()
    said = move_in(tmp_path / f"{other.pk}.zip")
    assert f"Had an account here and keep it: {owner.username}." in said
    assert User.objects.get(pk=owner.pk).check_password("amber-kettle-43")
    assert Venue.objects.count() == 2
    call_command("verify_ledger", stdout=StringIO())


def test_a_venue_that_is_here_is_not_taken_in_twice(packed):
    move_in(packed)
    with pytest.raises(CommandError, match="This venue is in this database already"):
        move_in(packed)


def test_where_a_key_is_taken_it_says_so_and_why(packed):
    """Another bar began here, and its people have the same numbers."""
    with zipfile.ZipFile(packed) as file:
        first = json.loads(file.read("records/auth.user.jsonl").splitlines()[0])
    a_venue(name="The Tin Heron", owner=User.objects.create(pk=first["id"], username="ines"))
    with pytest.raises(CommandError, match="an empty database") as refused:
        move_in(packed)
    assert str(refused.value).endswith("Nothing was stored.")
    assert Venue.objects.get().name == "The Tin Heron"


def test_bytes_that_are_gone_are_told_and_the_rest_moves(bar, emptied, tmp_path):
    stored_path(Document.objects.get()).unlink()
    warned = StringIO()
    call_command("export_venue", bar.name, str(tmp_path / "bar.zip"), stderr=warned)
    assert "1 file(s) are not in the data folder" in warned.getvalue()
    emptied()
    assert "1 file(s) were missing when it was packed" in move_in(tmp_path / "bar.zip")


def test_a_file_that_is_there_is_not_written_over(bar, tmp_path):
    (tmp_path / "bar.zip").write_text("last year's")
    with pytest.raises(CommandError, match="is there already"):
        call_command("export_venue", bar.name, str(tmp_path / "bar.zip"))
    assert (tmp_path / "bar.zip").read_text() == "last year's"


def test_a_name_that_is_no_venues_is_answered_with_those_there_are(bar, tmp_path):
    with pytest.raises(CommandError, match="On record: The Copper Finch"):
        call_command("export_venue", "Nowhere", str(tmp_path / "bar.zip"))


def test_four_times_the_readings_take_no_more_memory_to_pack(bar):
    """As many as a bar has in years: rows go through, they are not gathered."""
    place = a_place(bar)
    few = _most_held_packing(bar, place, range(20_000))
    many = _most_held_packing(bar, place, range(20_000, 80_000))
    assert many < 1.3 * few


def _most_held_packing(bar, place, seconds):
    LoggedReading.objects.bulk_create(
        LoggedReading(place=place, at_s=1_790_000_000 + second, centi_degc=300, source=1)
        for second in seconds
    )
    with tempfile.TemporaryFile() as out:
        tracemalloc.start()
        try:
            pack(bar, out)
            return tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()
