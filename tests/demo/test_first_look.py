"""What a newcomer sees of the demo on the first pages."""

import re
from collections.abc import Iterator

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from kegsafe.batches.models import Recipe
from tests.laid_demo import laid_demo

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def manager(django_db_setup, django_db_blocker) -> Iterator[Client]:
    with django_db_blocker.unblock(), laid_demo(timezone.now()):
        client = Client()
        client.force_login(User.objects.get(username="manager"))
        yield client


def test_the_kegs_are_listed_gravest_first_and_then_as_they_are_counted(manager):
    page = manager.get(reverse("pour-search")).content.decode()
    names = re.findall(r'class="keg-verdict-name">Keg (K\d+)', page)
    assert names == [
        *("K4", "K8", "K11"),
        *("K2", "K5", "K9", "K10", "K14"),
        *("K1", "K3", "K6", "K7", "K15"),
    ]


def test_a_batch_begun_from_its_recipe_starts_without_a_reproach(manager):
    recipe = Recipe.objects.filter(name="Garden Gate Spritz").first()
    page = manager.get(reverse("batch-add"), {"recipe": recipe.pk}).content.decode()
    assert f'<option value="{recipe.pk}" selected>' in page
    assert "This field is required" not in page


def test_the_manager_changes_to_the_other_bar_and_its_code(manager):
    page = manager.get(reverse("venue-switch")).content.decode()
    other = re.search(r'value="(\d+)"[^>]*>[^<]*The Paper Heron', page)
    manager.post(reverse("venue-switch"), {"venue": other[1]})
    assert "England" in manager.get(reverse("venue-settings")).content.decode()
