"""A form sent twice is recorded once: a double tap, a page loaded again, the way back."""

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import timedelta
from hashlib import sha256

from django.db import IntegrityError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from kegsafe.ledger.models import SentForm

TOKEN = "csrfmiddlewaretoken"  # noqa: S105
# Longer than any session lasts; with its session a form is void anyway.
KEPT_FOR = timedelta(days=2)

_being_sent: ContextVar[str | None] = ContextVar("form_being_sent", default=None)


class RecordedAlready(Exception):
    """This very form was recorded before."""


@contextmanager
def being_sent(key: str | None) -> Iterator[None]:
    """Record what happens inside under the key of a form, None for what came from no form."""
    before = _being_sent.set(key)
    try:
        yield
    finally:
        _being_sent.reset(before)


def claim() -> None:
    """Mark the form as recorded, in the transaction of its first entry: both stay or neither.

    Called with the head of the chain locked, so that the second of two equal
    forms waits for the first. Raises RecordedAlready for the second.
    """
    key = _being_sent.get()
    if key is None:
        return
    now = timezone.now()
    SentForm.objects.filter(recorded_at__lt=now - KEPT_FOR).delete()
    try:
        SentForm.objects.create(key=key, recorded_at=now)
    except IntegrityError:
        raise RecordedAlready from None
    _being_sent.set(None)


class SentOnceMiddleware:
    """Answer 409, with a sentence, a form that is recorded already."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        with being_sent(_key_of(request)):
            return self.get_response(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """Tell a person what became of the form; every other fault goes on its way."""
        if not isinstance(error, RecordedAlready):
            return None
        return render(request, "409.html", status=409)


def _key_of(request: HttpRequest) -> str | None:
    """Return what one filled-in form has alone.

    Each page carries its token under a mask of its own, so equal words with an
    equal mask come from one page; the same words from a page opened anew differ.
    """
    if request.method != "POST" or not request.POST.get(TOKEN):
        return None
    sent = [request.session.session_key, request.path, sorted(request.POST.lists())]
    return sha256(json.dumps(sent).encode()).hexdigest()
