"""What the tests of the frame share."""

import pytest

from tests.frame.guide_urls import serve_guide


@pytest.fixture
def guide(settings) -> None:
    """Serve the guide instead of the site."""
    serve_guide(settings)
