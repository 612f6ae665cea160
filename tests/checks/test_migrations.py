"""The migrations and the models say the same."""

from io import StringIO

import pytest
from django.core.management import call_command


@pytest.mark.django_db
def test_no_model_has_changed_without_its_migration():
    answer = StringIO()
    call_command("makemigrations", check=True, dry_run=True, stdout=answer)
    assert "No changes detected" in answer.getvalue()
