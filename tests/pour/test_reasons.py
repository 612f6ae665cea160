"""What is said on the pour page when a keg is held, released or discarded."""

import pytest
from django.urls import reverse

from kegsafe.batches.models import Fill
from kegsafe.batches.services import hold_fill
from kegsafe.venues.models import Role
from tests.builders import a_fill, a_person, a_recorder, a_venue

pytestmark = pytest.mark.django_db

TOO_LONG = "It tastes of " + "y" * 190


@pytest.fixture
def fill():
    return a_fill(a_venue())


@pytest.fixture
def manager(client, fill):
    client.force_login(a_person(fill.batch.venue, Role.MANAGER))
    return client


@pytest.mark.parametrize("act", ["fill-hold", "fill-release", "fill-discard"])
@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("", "Say why: a few words are enough."),
        ("   ", "Say why: a few words are enough."),
        (TOO_LONG, "This has 203 characters, and 200 fit. Say it shorter."),
    ],
)
def test_a_reason_that_is_none_comes_back_with_what_was_typed(manager, fill, act, typed, sentence):
    if act == "fill-release":
        hold_fill(fill=fill, reason="Cloudy", by=a_recorder(fill.batch.venue))
    before = Fill.objects.get(pk=fill.pk).state
    answer = manager.post(reverse(act, args=[fill.pk]), {"reason": typed})
    assert answer.context["form"].errors["reason"] == [sentence]
    assert typed in answer.content.decode()
    assert Fill.objects.get(pk=fill.pk).state == before


def test_the_pour_page_asks_for_a_reason_beside_each_act(manager, fill):
    page = manager.get(reverse("pour-check", args=[fill.keg.label_code])).content.decode()
    for act in ("fill-hold", "fill-discard"):
        assert f'action="{reverse(act, args=[fill.pk])}"' in page
    assert page.count('name="reason"') == 2
