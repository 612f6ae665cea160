"""How long a pour check takes: against a lean page, and as the records of years pile up."""

from collections.abc import Callable, Iterator, Mapping
from http import HTTPStatus

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from django.db.backends.base.base import BaseDatabaseWrapper
from django.test.client import ClientHandler, RequestFactory
from django.test.utils import override_settings
from django.urls import reverse

from kegsafe.benchmarks.bar import Bar, open_bar
from kegsafe.benchmarks.crowd import add_finished_batches
from kegsafe.benchmarks.lean_page import take_down_statements
from kegsafe.benchmarks.measuring import Comparison, compare, take_turns
from kegsafe.benchmarks.throw_away import HOST, Site

MOST_TIMES_THE_LEAN_PAGE = 6
MOST_BETWEEN_SIZES = 1.2
BATCHES = (100, 10_000, 100_000)
FETCHES = 20  # in one round
_SIGN_IN_QUERIES = 2  # the session, and the person with their roles: both pages make them


def measure(site: Site, rounds: int) -> Iterator[Comparison]:
    """Measure the page, then the page among more and more batches."""
    with override_settings(ROOT_URLCONF="kegsafe.benchmarks.urls"):
        bar = open_bar()
        visitor = Visitor(bar)
        files = {batches: _file_with(batches, bar, site) for batches in BATCHES}
        site.go_on_in(files[BATCHES[0]])
        yield _against_the_lean_page(visitor, rounds)
        yield from _among_batches(files, site, visitor, rounds)


def _file_with(batches: int, bar: Bar, site: Site) -> BaseDatabaseWrapper:
    """Return a copy of the bar's file with so many batches in its past."""
    site.go_on_in(site.files[0])
    file = site.copy(f"{batches}_batches")
    add_finished_batches(bar, batches)
    return file


class Visitor:
    """Somebody signed in who fetches pages through the whole middleware."""

    def __init__(self, bar: Bar) -> None:
        self.bar = bar
        self.handler = ClientHandler(enforce_csrf_checks=True)
        session = SessionStore()
        session[SESSION_KEY] = str(bar.person.pk)
        session[BACKEND_SESSION_KEY] = "kegsafe.venues.sign_in.MembershipBackend"
        session[HASH_SESSION_KEY] = bar.person.get_session_auth_hash()
        session.save()
        cookie = f"{settings.SESSION_COOKIE_NAME}={session.session_key}"
        self.requests = RequestFactory(SERVER_NAME=HOST, HTTP_COOKIE=cookie)

    def page(self, name: str) -> Callable[[], None]:
        """Return how this person fetches the page of that name about the measured keg."""
        url = reverse(name, args=[self.bar.keg.label_code])

        def fetch() -> None:
            response = self.handler(self.requests.get(url, secure=True).environ)
            if response.status_code != HTTPStatus.OK:
                raise RuntimeError(f"{url} answered {response.status_code}: nothing to measure")

        return fetch


def _against_the_lean_page(visitor: Visitor, rounds: int) -> Comparison:
    page = visitor.page("pour-check")
    take_down_statements(page, first=_SIGN_IN_QUERIES)
    works = {"pour check": page, "lean page": visitor.page("lean-pour-check")}
    seconds = take_turns(works, rounds=rounds, times=FETCHES)
    return compare("pour check", "lean page", seconds, bound=MOST_TIMES_THE_LEAN_PAGE)


def _among_batches(
    files: Mapping[int, BaseDatabaseWrapper], site: Site, visitor: Visitor, rounds: int
) -> Iterator[Comparison]:
    """Compare the page among many and very many batches with the page among few."""
    page = visitor.page("pour-check")

    def among(batches: int) -> Callable[[], None]:
        def fetch() -> None:
            site.go_on_in(files[batches])
            page()

        return fetch

    works = {f"among {batches:,} batches": among(batches) for batches in files}
    seconds = take_turns(works, rounds=rounds, times=FETCHES)
    few, *more = works
    for many in more:
        yield compare(many, few, seconds, bound=MOST_BETWEEN_SIZES)
