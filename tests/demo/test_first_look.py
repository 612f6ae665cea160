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


def test_the_cleaning_that_is_due_shows_its_reasons(manager):
    page = manager.get(reverse("cleaning")).content.decode()
    for heading in ("Under way", "Overdue", "Due today", "Due this week"):
        assert heading in page
    assert "The clean of Ice bin on" in page
    assert "was not finished on record." in page


def test_the_cleaning_log_shows_each_result_and_what_was_done_about_it(manager):
    for result, piece in (("complete", "Line 1"), ("incomplete", "Ice bin"), ("failed", "Line 4")):
        page = manager.get(reverse("cycles"), {"result": result}).content.decode()
        assert piece in page
    assert "Corrective action: Cleaner at 1.4 %, below the 2 % of the plan" in page
