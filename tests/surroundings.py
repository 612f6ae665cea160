"""What the machine that runs the tests has, and what follows when it lacks something."""

import os
from typing import NoReturn

import pytest

IN_CI = os.environ.get("CI", "").lower() in {"1", "true", "yes"}


def do_without(sentence: str) -> NoReturn:
    """Skip the test and say why; in CI nothing may be lacking, so there it fails."""
    if IN_CI:
        pytest.fail(sentence)
    pytest.skip(sentence)
