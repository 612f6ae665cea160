"""A bar with somebody in each role, for the tests of the batches room."""

from collections.abc import Callable

import pytest
from django.test import Client

from kegsafe.ledger.services import Recorder
from kegsafe.venues.models import Role, Venue
from tests.builders import a_person, a_recorder, a_venue


@pytest.fixture
def venue(db) -> Venue:
    return a_venue()


@pytest.fixture
def by(venue) -> Recorder:
    return a_recorder(venue)


@pytest.fixture
def signed_in(venue) -> Callable[[str], Client]:
    """Return a client signed in as somebody of that role."""

    def sign_in(role: str = Role.MANAGER) -> Client:
        client = Client()
        client.force_login(a_person(venue, role))
        return client

    return sign_in
