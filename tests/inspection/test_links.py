"""A link opens one pack and nothing else, is recorded each time, and ends."""

from datetime import timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from kegsafe.inspection.models import InspectorLink
from kegsafe.inspection.services import end_link, make_link
from kegsafe.ledger.models import Entry
from kegsafe.venues.models import Role
from tests.builders import a_person, a_recorder, a_venue
from tests.inspection.made_pack import a_pack, bytes_of
from tests.query_counts import queries_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def venue():
    return a_venue()


@pytest.fixture
def pack(venue):
    return a_pack(venue)


@pytest.fixture
def made(pack, venue):
    return make_link(pack=pack, reader="I. Vale, food office", days=7, by=a_recorder(venue))


@pytest.fixture
def token(made):
    return made[1]


def addresses(token: str) -> list[str]:
    return [reverse(name, args=[token]) for name in ("link", "link-pdf", "link-rows")]


def test_shows_what_was_shared_without_signing_in(token, pack, venue):
    page = Client().get(reverse("link", args=[token]))
    assert page.status_code == 200
    assert venue.name in page.content.decode()
    assert pack.head_hash in page.content.decode()
    assert "I. Vale, food office" in page.content.decode()


def test_hands_out_the_pack_as_it_is_kept(token, pack):
    answer = Client().get(reverse("link-pdf", args=[token]))
    assert b"".join(answer.streaming_content) == bytes_of(pack)
    assert answer["Content-Disposition"].startswith("inline")
    kept = Client().get(reverse("link-pdf", args=[token]), {"download": "yes"})
    assert kept["Content-Disposition"].startswith("attachment")


def test_no_search_engine_and_no_cache_keeps_it(token):
    answer = Client().get(reverse("link", args=[token]))
    assert answer["X-Robots-Tag"] == "noindex, nofollow"
    assert "no-store" in answer["Cache-Control"]


def test_the_secret_is_kept_nowhere(token, made):
    kept = " ".join(Entry.objects.values_list("record", flat=True))
    assert token not in kept
    assert token not in str(InspectorLink.objects.values().get())


@pytest.mark.parametrize("address", [0, 1, 2])
def test_a_wrong_secret_is_simply_not_there(token, address):
    for wrong in (token[:-1], token + "x", "x", "0" * 43, "é" * 40):
        assert Client().get(addresses(wrong)[address]).status_code == 404


class TestItEnds:
    @pytest.mark.parametrize("address", [0, 1, 2])
    def test_by_itself_at_its_last_moment(self, made, address):
        link, token = made
        just_before, just_at = link.ends_at - timedelta(seconds=1), link.ends_at
        with time_machine.travel(just_before, tick=False):
            assert Client().get(addresses(token)[address]).status_code == 200
        with time_machine.travel(just_at, tick=False):
            assert Client().get(addresses(token)[address]).status_code == 404

    @pytest.mark.parametrize("address", [0, 1, 2])
    def test_at_once_when_somebody_ends_it(self, made, venue, address):
        link, token = made
        end_link(link=link, by=a_recorder(venue))
        assert Client().get(addresses(token)[address]).status_code == 404

    def test_once_and_by_one_name(self, made, venue):
        link, _ = made
        end_link(link=link, by=a_recorder(venue))
        again = end_link(link=link, by=a_recorder(venue, "noor"))
        assert again.ended_by == "mara"

    def test_by_the_button_on_the_packs_page(self, made, venue, pack):
        link, token = made
        browser = Client()
        browser.force_login(a_person(venue, Role.MANAGER))
        browser.post(reverse("link-end", args=[link.pk]))
        assert Client().get(addresses(token)[0]).status_code == 404
        assert "Ended" in browser.get(pack.get_absolute_url()).content.decode()


class TestEachOpeningIsRecorded:
    def openings(self):
        return list(
            Entry.objects.filter(action="inspector's link opened").values_list("person", flat=True)
        )

    def test_by_what_was_opened(self, token, made):
        for address in addresses(token):
            Client().get(address)
        assert set(made[0].openings.values_list("part", flat=True)) == {"page", "pdf", "rows"}
        assert self.openings() == ["link for I. Vale, food office"] * 3

    def test_reloading_within_a_minute_is_one_opening(self, token):
        now = timezone.now()
        for seconds, count in ((0, 1), (59, 1), (60, 2)):
            with time_machine.travel(now + timedelta(seconds=seconds), tick=False):
                Client().get(addresses(token)[0])
            assert len(self.openings()) == count

    def test_what_did_not_open_is_no_opening(self, made, venue):
        link, token = made
        end_link(link=link, by=a_recorder(venue))
        Client().get(addresses(token)[0])
        assert self.openings() == []


class TestMakingOne:
    @pytest.fixture
    def manager(self, venue):
        client = Client()
        client.force_login(a_person(venue, Role.MANAGER))
        return client

    def test_shows_the_address_once(self, manager, pack):
        address = reverse("pack-link", args=[pack.pk])
        page = manager.post(address, {"reader": "Port health", "days": "3"}).content.decode()
        assert "http://testserver/inspection/read/" in page
        assert "/inspection/read/" not in manager.get(pack.get_absolute_url()).content.decode()

    @pytest.mark.parametrize("days", ["0", "91", "-1", "1e9", "seven", ""])
    def test_a_time_out_of_bounds_is_told_at_its_field(self, manager, pack, days):
        address = reverse("pack-link", args=[pack.pk])
        page = manager.post(address, {"reader": "Port health", "days": days}).content.decode()
        assert "invalid-feedback" in page
        assert 'value="Port health"' in page
        assert not InspectorLink.objects.exists()

    def test_the_packs_page_costs_the_same_with_many_links(self, manager, pack, venue):
        def make(count):
            for _ in range(count):
                make_link(pack=pack, reader="Reader", days=1, by=a_recorder(venue))

        make(1)
        one = queries_of(manager, pack.get_absolute_url())
        make(9)
        assert queries_of(manager, pack.get_absolute_url()) == one
