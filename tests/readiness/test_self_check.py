"""The self-check as page, record, trend and command."""

import json
from datetime import datetime, timedelta
from io import StringIO
from itertools import pairwise

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from kegsafe.ledger.models import Entry
from kegsafe.ledger.verification import Broken, ChainVerdict, verify_records
from kegsafe.readiness.models import ChainWalk, SelfCheck
from kegsafe.readiness.services import record_self_check, walk_chain
from kegsafe.readiness.trend import WEEKS, trend
from kegsafe.venues.models import Role
from tests.builders import a_lot, a_person, a_recorder, a_venue, an_ingredient
from tests.query_counts import queries_of

pytestmark = pytest.mark.django_db

MOST_QUERIES = 50


@pytest.fixture
def venue():
    return a_venue()


def browser_of(venue, role: str) -> Client:
    client = Client()
    client.force_login(a_person(venue, role))
    return client


# The page


def test_the_page_says_what_it_is_and_to_whom_it_defers(venue):
    page = browser_of(venue, Role.OWNER).get(reverse("readiness")).content.decode()
    assert "Would we pass today? A self-check" in page
    assert "A self-check, not an inspection" in page
    assert venue.code.deference in page


def test_a_gap_shows_clause_weight_and_the_way_to_settle_it(venue):
    ingredient = an_ingredient(venue, name="Falernum", allergen_list_basis="")
    page = browser_of(venue, Role.MANAGER).get(reverse("readiness")).content.decode()
    assert "1 ingredient whose allergens are not known." in page
    assert "FDA Food Code 2022, 3-602.12(C)" in page
    assert "second-hand source" in page
    assert f'href="{ingredient.get_absolute_url()}"' in page


def test_a_venue_without_a_gap_gets_no_verdict_either(venue, monkeypatch):
    monkeypatch.setattr("kegsafe.readiness.views.gaps", lambda *_: ())
    page = browser_of(venue, Role.OWNER).get(reverse("readiness")).content.decode()
    assert "No gap in the records that were looked at" in page
    assert "That is no verdict" in page


def test_the_page_costs_the_same_after_many_self_checks(venue):
    client = browser_of(venue, Role.OWNER)
    by, now = a_recorder(venue), timezone.now()
    record_self_check(venue=venue, at=now, by=by)
    with_one = queries_of(client, reverse("readiness"))
    for ago in range(1, 20):
        record_self_check(venue=venue, at=now - timedelta(days=ago), by=by)
    assert queries_of(client, reverse("readiness")) == with_one <= MOST_QUERIES


def test_only_those_in_charge_have_the_buttons(venue):
    assert "Verify the ledger" not in _page(venue, Role.STAFF)
    assert "Verify the ledger" in _page(venue, Role.MANAGER)


def _page(venue, role: str) -> str:
    return browser_of(venue, role).get(reverse("readiness")).content.decode()


# What is kept


def test_a_self_check_is_kept_with_what_it_found_and_the_ledger_proves_it(venue):
    a_lot(venue)
    client = browser_of(venue, Role.MANAGER)
    client.post(reverse("self-check"))
    kept = SelfCheck.objects.get()
    assert "stock.lot_without_paper" in {gap["rule"] for gap in kept.found}
    assert kept.stop + kept.write_up + kept.ask == len(kept.found)
    assert Entry.objects.filter(subject=kept.ledger_subject).count() == 1
    assert list(verify_records()) == []


def test_verifying_the_ledger_keeps_how_far_it_went(venue):
    client = browser_of(venue, Role.MANAGER)
    before = Entry.objects.count()
    answer = client.post(reverse("chain-walk"), follow=True).content.decode()
    walk = ChainWalk.objects.get()
    assert (walk.entries, walk.fault) == (before, "")
    assert f"Recorded: {before} entries follow one another." in answer


def test_a_fault_that_is_found_is_kept_and_shown_until_the_chain_holds(venue, monkeypatch):
    def broken(chain):
        return ChainVerdict(
            chain.key, 3, chain.head_hash, Broken(chain.key, 4, "entry 4 is missing")
        )

    monkeypatch.setattr("kegsafe.readiness.services.verify_chain", broken)
    client = browser_of(venue, Role.OWNER)
    answer = client.post(reverse("chain-walk"), follow=True).content.decode()
    assert "entry 4 is at fault: entry 4 is missing." in answer
    assert "A fault was found when the ledger was last verified." in answer
    monkeypatch.undo()
    walk_chain(venue=venue, at=timezone.now(), by=a_recorder(venue))
    assert "A fault was found" not in client.get(reverse("readiness")).content.decode()


# The trend


def test_each_week_shows_its_last_self_check_and_a_week_without_one_shows_none(venue):
    now = datetime(2026, 6, 10, 12, tzinfo=venue.zone)  # a Wednesday
    by = a_recorder(venue)
    for day in (1, 7, 8):  # Monday and Sunday of one week, Monday of the next
        at = datetime(2026, 6, day, 12, tzinfo=venue.zone)
        last = record_self_check(venue=venue, at=at, by=by)
    weeks = trend(venue, now).weeks
    assert len(weeks) == WEEKS
    assert [week.begins_on.isoformat() for week in weeks[-2:]] == ["2026-06-01", "2026-06-08"]
    assert weeks[-1].check == last
    assert weeks[-2].check.checked_at.astimezone(venue.zone).day == 7
    assert {week.check for week in weeks[:-2]} == {None}
    assert "week of Mon 25 May 2026: no self-check" in trend(venue, now).in_words


def test_what_was_found_then_stays_as_it_was_found(venue):
    ingredient = an_ingredient(venue, allergen_list_basis="")
    now = timezone.now()
    record_self_check(venue=venue, at=now, by=a_recorder(venue))
    then = trend(venue, now).weeks[-1].gaps
    type(ingredient).objects.filter(pk=ingredient.pk).update(allergen_list_basis="label")
    assert trend(venue, now).weeks[-1].gaps == then


def test_the_bars_of_a_week_stack_to_the_number_above_them(venue):
    an_ingredient(venue, allergen_list_basis="")
    now = timezone.now()
    record_self_check(venue=venue, at=now, by=a_recorder(venue))
    week = trend(venue, now).weeks[-1]
    tops = sorted((part.y, part.y + part.height) for part in week.parts)
    assert all(above[1] == below[0] for above, below in pairwise(tops))
    assert tops[-1][1] == trend(venue, now).high


# The command


def _command(*arguments: str) -> tuple[str, int]:
    printed = StringIO()
    with pytest.raises(SystemExit) as left:
        call_command("self_check", *arguments, stdout=printed)
    return printed.getvalue(), left.value.code


def test_the_command_prints_each_gap_and_says_so_by_its_exit_status(venue):
    printed, status = _command()
    assert status == 3
    assert "The ledger was never verified. An inspector would ask about it." in printed
    assert "A self-check." in printed
    assert venue.code.deference in printed


def test_the_command_prints_json(venue):
    printed, _ = _command("--json")
    assert {gap["rule"] for gap in json.loads(printed)} == {
        "cleaning.no_plan",
        "ledger.not_verified",
    }


def test_the_command_verifies_and_keeps_in_a_members_name(venue):
    manager = a_person(venue, Role.MANAGER, name="petra")
    printed, _ = _command("--record", manager.username)
    assert "ledger" not in printed
    assert SelfCheck.objects.get().recorded_by == "petra"
    assert ChainWalk.objects.get().recorded_by == "petra"


def test_nobody_keeps_a_self_check_in_a_strangers_name(venue):
    a_person(venue, Role.MANAGER, name="petra")
    with pytest.raises(CommandError, match='"nobody" has no role at The Copper Finch') as refused:
        call_command("self_check", "--record", "nobody")
    assert refused.value.returncode == 2
    assert not SelfCheck.objects.exists()


def test_one_of_several_venues_is_named(venue):
    a_venue(name="The Other Finch")
    with pytest.raises(CommandError, match="Name one venue with --venue"):
        call_command("self_check")
