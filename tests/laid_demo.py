"""The demo as a test needs it: laid at a moment, looked at, and gone again."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime

from django.conf import settings
from django.db import transaction

from kegsafe.demo.laying import lay
from kegsafe.demo.scenario import read_scenario

SCENARIO = settings.BASE_DIR / "fixtures" / "demo"


@contextmanager
def laid_demo(now: datetime) -> Iterator[None]:
    """Lay the demo inside a transaction that is rolled back at the end.

    Laying takes seconds, so a module lays it once (with pytest-django's blocker
    lifted) and its tests share it: each of them works in a savepoint of its own.
    """
    with transaction.atomic():
        lay(read_scenario(SCENARIO), now)
        yield
        transaction.set_rollback(True)
