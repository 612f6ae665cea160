"""The guide: a site of a few pages that hold every part of the frame, for these tests only."""

from copy import deepcopy
from pathlib import Path

import pytest

GUIDE = Path(__file__).parent / "templates"


@pytest.fixture
def guide(settings) -> None:
    """Serve the guide instead of the site."""
    templates = deepcopy(settings.TEMPLATES)
    templates[0]["DIRS"].append(GUIDE)
    settings.TEMPLATES = templates
    settings.ROOT_URLCONF = "tests.frame.guide_urls"
