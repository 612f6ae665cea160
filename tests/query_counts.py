"""How many queries a page makes: the same for a short list and a long one."""

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext


def queries_of(client: Client, url: str) -> int:
    """Return how many queries opening a page takes."""
    with CaptureQueriesContext(connection) as made:
        answer = client.get(url)
    assert answer.status_code == 200, f"{url} answered {answer.status_code}"
    return len(made)
