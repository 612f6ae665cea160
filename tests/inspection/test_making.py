"""Making a pack in the background: how far it is, what came of it, and what a dead process left."""

import threading
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.core.management import CommandError, call_command
from django.db import connection
from django.urls import reverse
from django.utils import timezone

from kegsafe.cold_chain.models import Reading
from kegsafe.cold_chain.services import record_reading
from kegsafe.frame.snapshot import as_of_now
from kegsafe.inspection import making, services, storage
from kegsafe.inspection.models import InspectionPack, PackWork
from kegsafe.inspection.storage import sha256_of
from kegsafe.ledger.models import Chain, Entry
from tests.builders import a_fill, a_person, a_place, a_recorder, a_venue
from tests.inspection.made_pack import a_pack
from tests.inspection.roles import a_kept_pack
from tests.query_counts import queries_of


def ordered(venue, **changes):
    today = venue.local(timezone.now()).date()
    wanted = {"first": today - timedelta(days=6), "last": today, "sections": ["fills"]}
    return services.order_pack(
        venue=venue, paper="a4", by=a_recorder(venue), **{**wanted, **changes}
    )


@pytest.fixture
def venue(db):
    return a_venue()


# What may be ordered


def test_the_last_day_is_not_before_the_first(venue):
    with pytest.raises(ValidationError, match="The last day, 2026-04-01, is before the first"):
        ordered(venue, first=date(2026, 4, 2), last=date(2026, 4, 1))


def test_one_day_is_a_period(venue):
    today = venue.local(timezone.now()).date()
    assert ordered(venue, first=today, last=today).state == PackWork.State.WAITING


def test_a_period_that_lies_ahead_is_refused(venue):
    tomorrow = venue.local(timezone.now()).date() + timedelta(days=1)
    with pytest.raises(ValidationError, match="lies ahead"):
        ordered(venue, first=tomorrow, last=tomorrow)


def test_three_years_are_the_most(venue):
    today = venue.local(timezone.now()).date()
    with pytest.raises(ValidationError, match="Three years are the most"):
        ordered(venue, first=today - services.LONGEST - timedelta(days=1))
    assert ordered(venue, first=today - services.LONGEST)


def test_one_pack_is_made_at_a_time_and_another_bar_need_not_wait(venue):
    ordered(venue)
    with pytest.raises(ValidationError, match="made already"):
        ordered(venue)
    assert ordered(a_venue())


# The work


@pytest.mark.django_db(transaction=True)
def test_a_pack_is_made_in_the_background_and_recorded_with_its_hashes():
    venue = a_venue()
    a_fill(venue)
    head = Chain.objects.get(pk=venue.chain_id)
    work = ordered(venue)
    making.start(work).join()
    work.refresh_from_db()
    pack = work.pack
    assert (work.state, pack.made_by) == (PackWork.State.DONE, "mara")
    assert (pack.head_sequence, pack.head_hash) == (head.head_sequence, head.head_hash)
    assert pack.counts["fills"] == 1
    assert pack.sha256 == sha256_of(storage.path_of(pack, storage.PDF))
    assert pack.rows_sha256 == sha256_of(storage.path_of(pack, storage.ROWS))
    assert storage.path_of(pack, storage.PDF).stat().st_mode & 0o077 == 0
    assert Entry.objects.filter(subject=pack.ledger_subject).count() == 1


@pytest.mark.django_db(transaction=True)
def test_work_that_breaks_says_so_and_leaves_nothing_behind(monkeypatch):
    def broken(*_args, **_more):
        raise RuntimeError("the disk is full")

    venue = a_venue()
    monkeypatch.setattr(making, "write_pack", broken)
    work = ordered(venue)
    making.start(work).join()
    work.refresh_from_db()
    assert work.state == PackWork.State.FAILED
    assert "Something went wrong inside" in work.trouble
    assert not InspectionPack.objects.exists()
    assert not list(storage.path_of(InspectionPack(stored_as="x"), "").parent.glob("*.part"))


def test_work_is_taken_up_once(venue):
    work = ordered(venue)
    PackWork.objects.filter(pk=work.pk).update(state=PackWork.State.MAKING)
    making.do(work)
    work.refresh_from_db()
    assert work.state == PackWork.State.MAKING


@pytest.mark.parametrize(("silent_s", "state"), [(59, "waiting"), (61, "failed")])
def test_work_whose_process_died_is_given_up_after_a_minute_of_silence(venue, silent_s, state):
    work = ordered(venue)
    now = work.beat_at + timedelta(seconds=silent_s)
    services.bury_the_dead(venue, now)
    work.refresh_from_db()
    assert work.state == state


@pytest.mark.parametrize(("age_s", "is_there"), [(3_590, True), (3_610, False)])
def test_what_a_dead_process_left_unfinished_is_swept_away_after_an_hour(age_s, is_there):
    left = storage.unfinished("left", storage.PDF)
    left.write_bytes(b"%PDF")
    storage.sweep(left.stat().st_mtime + age_s)
    assert left.exists() is is_there
    left.unlink(missing_ok=True)


@pytest.mark.django_db(transaction=True)
def test_others_write_while_a_pack_reads_and_the_pack_does_not_see_it():
    venue = a_venue()
    place = a_place(venue)

    def write():
        record_reading(
            place=place,
            read_at=timezone.now(),
            temperature_degc=Decimal(3),
            by=a_recorder(venue),
        )
        connection.close()

    with as_of_now():
        assert Reading.objects.count() == 0
        writing = threading.Thread(target=write)
        writing.start()
        writing.join(timeout=10)
        assert not writing.is_alive()
        assert Reading.objects.count() == 0
    assert Reading.objects.count() == 1


# Pages


@pytest.fixture
def manager(client, venue):
    client.force_login(a_person(venue, "manager"))
    return client


def form(venue, **changes):
    today = venue.local(timezone.now()).date()
    return {
        "first": f"{today - timedelta(days=6)}",
        "last": f"{today}",
        "sections": ["fills", "cleaning"],
        "paper": "letter",
        **changes,
    }


def test_a_manager_orders_a_pack_and_is_shown_how_far_it_is(manager, venue, monkeypatch):
    begun = []
    monkeypatch.setattr(making, "start", begun.append)
    answer = manager.post(reverse("pack-make"), form(venue))
    work = PackWork.objects.get()
    assert (answer.status_code, answer.url) == (302, work.get_absolute_url())
    assert begun == [work]
    assert "You may leave this page" in manager.get(answer.url).content.decode()
    state = manager.get(reverse("pack-work-state", args=[work.pk])).json()
    assert state["is_under_way"] is True


def test_a_period_that_is_none_is_said_at_the_field_and_what_was_typed_stays(manager, venue):
    sent = form(venue, first="2026-04-02", last="2026-04-01")
    page = manager.post(reverse("pack-make"), sent).content.decode()
    assert "The last day, 2026-04-01, is before the first, 2026-04-02." in page
    assert 'value="2026-04-02"' in page
    assert not PackWork.objects.exists()


def test_a_pack_without_a_section_is_refused(manager, venue):
    page = manager.post(reverse("pack-make"), form(venue, sections=[])).content.decode()
    assert "Choose one section or more." in page


def test_a_second_press_waits_for_the_first(manager, venue, monkeypatch):
    monkeypatch.setattr(making, "start", lambda work: None)
    manager.post(reverse("pack-make"), form(venue))
    page = manager.post(reverse("pack-make"), form(venue)).content.decode()
    assert "A pack is being made already: wait for it." in page


def test_work_that_failed_says_why_and_offers_to_make_it_again(manager, venue):
    work = ordered(venue)
    services.set_failed(work, "No paper.")
    page = manager.get(work.get_absolute_url()).content.decode()
    assert "The pack was not made. No paper." in page
    assert reverse("pack-make") in page


@pytest.mark.parametrize(("name", "head"), [("pack-pdf", b"%PDF-"), ("pack-rows", b"PK")])
def test_an_inspector_takes_a_pack_away_and_another_bars_is_not_found(client, venue, name, head):
    pack, others = a_pack(venue), a_pack(a_venue(name="The Paper Lamp"))
    client.force_login(a_person(venue, "inspector"))
    answer = client.get(reverse(name, args=[pack.pk]))
    assert b"".join(answer.streaming_content).startswith(head)
    assert answer["Content-Disposition"].startswith("attachment;")
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert client.get(reverse(name, args=[others.pk])).status_code == 404


def test_the_pages_cost_the_same_with_many_packs(manager, venue):
    pack = a_kept_pack(venue)
    few = queries_of(manager, reverse("packs")), queries_of(manager, pack.get_absolute_url())
    for number in range(5):
        pack.pk, pack.stored_as = None, f"many-{number}"
        services.record_pack(pack, by=a_recorder(venue))
    many = queries_of(manager, reverse("packs")), queries_of(manager, pack.get_absolute_url())
    assert few == many
    assert max(many) <= 8


# The command


def test_the_command_writes_the_pack_and_its_rows(venue, tmp_path, capsys):
    out = tmp_path / "pack.pdf"
    call_command("inspection_pack", str(out), "--paper", "letter")
    assert out.read_bytes().startswith(b"%PDF-")
    assert out.with_suffix(".zip").read_bytes().startswith(b"PK")
    assert InspectionPack.objects.get().paper == "letter"


def test_the_command_asks_which_venue_where_there_are_two(venue, tmp_path):
    a_venue(name="The Paper Lamp")
    with pytest.raises(CommandError, match=r"more than one venue.*--venue") as refused:
        call_command("inspection_pack", str(tmp_path / "pack.pdf"))
    assert refused.value.returncode == 2


def test_the_command_says_what_is_wrong_with_a_period(venue, tmp_path):
    words = ["--from", "2026-04-02", "--to", "2026-04-01"]
    with pytest.raises(CommandError, match="is before the first"):
        call_command("inspection_pack", str(tmp_path / "pack.pdf"), *words)
