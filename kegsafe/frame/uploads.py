"""How much anybody may send: one file too large is turned away before it fills the disk."""

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

_CHUNK_BYTES = 64 * 1024
# A browser shows the answer only after it has sent its file, so a file that is somewhat too large
# is read and thrown away. Whoever sends more than this has the connection closed instead.
_READ_AWAY = 16
_MOST_DIGITS = 20


class UploadLimitMiddleware:
    """Answer 413, with a sentence, what is larger than `UPLOAD_MAX_BYTES`.

    The announced length is what counts: a server passes on no byte beyond it.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        announced = _announced_bytes(request)
        if announced <= settings.UPLOAD_MAX_BYTES:
            return self.get_response(request)
        _read_away(request, min(announced, _READ_AWAY * settings.UPLOAD_MAX_BYTES))
        largest = settings.UPLOAD_MAX_BYTES // 1024**2
        context = {"sent_mb": announced // 1024**2, "largest_mb": largest}
        return render(request, "413.html", context, status=413)


def _announced_bytes(request: HttpRequest) -> int:
    typed = request.META.get("CONTENT_LENGTH") or "0"
    return int(typed[:_MOST_DIGITS]) if typed.isascii() and typed.isdecimal() else 0


def _read_away(request: HttpRequest, size: int) -> None:
    while size > 0 and (chunk := request.read(min(_CHUNK_BYTES, size))):
        size -= len(chunk)
