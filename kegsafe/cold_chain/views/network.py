"""Where loggers send their readings: with a token of their own, and nothing else to see or do.

A token opens this address only, and only for writing. Rates are counted in each web process.
"""

from functools import cache
from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.core.cache import cache as counters
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_safe

from kegsafe.cold_chain import services
from kegsafe.cold_chain.models import Logger
from kegsafe.cold_chain.network import LARGEST_BODY_BYTES, Sent, Unreadable, sent
from kegsafe.cold_chain.openapi import description
from kegsafe.frame.client_address import client_address
from kegsafe.frame.tokens import token_hash

MOST_A_MINUTE = 120  # messages of one logger
MOST_WRONG_A_MINUTE = 30  # wrong tokens from one address
_A_MINUTE_S = 60
_LONGEST_TOKEN = 200


@csrf_exempt
@login_not_required
@require_http_methods(["POST"])
def readings(request: HttpRequest) -> HttpResponse:
    """Keep one or many readings of the logger whose token came along."""
    address = client_address(request)
    if _is_over(f"wrong-token:{address}", MOST_WRONG_A_MINUTE, count=False):
        return _problem(429, "Too many wrong tokens. Wait a minute.")
    logger = _logger(request)
    if logger is None:
        _is_over(f"wrong-token:{address}", MOST_WRONG_A_MINUTE, count=True)
        answer = _problem(401, "No logger has this token, or it was revoked.")
        answer["WWW-Authenticate"] = 'Bearer realm="loggers"'
        return answer
    if _is_over(f"logger:{logger.pk}", MOST_A_MINUTE, count=True):
        return _problem(429, "Too many messages. Send several readings in one, once a minute.")
    return _kept(request, logger)


@login_not_required
@require_safe
def document(request: HttpRequest) -> HttpResponse:
    """Serve the description of the address above, for people and tools."""
    return JsonResponse(_description())


@cache
def _description() -> dict[str, Any]:
    return description()


def _kept(request: HttpRequest, logger: Logger) -> HttpResponse:
    if request.content_type != "application/json":
        return _problem(415, "Send application/json.")
    length = request.META.get("CONTENT_LENGTH") or "0"
    if not length.isdecimal() or int(length[:20]) > LARGEST_BODY_BYTES:
        return _problem(413, f"A message may have {LARGEST_BODY_BYTES // 1024} kB at most.")
    now = timezone.now()
    try:
        message = sent(request.read(LARGEST_BODY_BYTES), now)
    except Unreadable as trouble:
        return _problem(400, str(trouble))
    put = services.put_sent(logger=logger, readings=message.readings)
    body = {
        "server_time": now.isoformat(timespec="seconds"),
        "added": put.added,
        "repeated": put.repeated,
        "clashed": put.clashed,
        "results": _results(message),
    }
    return JsonResponse(body, status=200 if message.readings else 422)


def _results(message: Sent) -> list[dict[str, Any]]:
    return [
        {"index": index, "outcome": "kept"}
        if at_s is not None
        else {"index": index, "outcome": "refused", "error": message.refused[index]}
        for index, at_s in enumerate(message.seconds)
    ]


def _logger(request: HttpRequest) -> Logger | None:
    scheme, _, token = request.META.get("HTTP_AUTHORIZATION", "").partition(" ")
    if scheme.lower() != "bearer" or not 0 < len(token) <= _LONGEST_TOKEN:
        return None
    found = Logger.objects.select_related("place").filter(
        token_sha256=token_hash(token.strip()), revoked_at=None
    )
    return found.first()


def _is_over(key: str, most: int, *, count: bool) -> bool:
    """Count a knock within its minute, if asked; say whether there were too many."""
    counters.add(key, 0, _A_MINUTE_S)
    if not count:
        return counters.get(key, 0) >= most
    try:
        return counters.incr(key) > most
    except ValueError:  # the minute ended in between
        return False


def _problem(status: int, sentence: str) -> HttpResponse:
    return JsonResponse({"error": sentence}, status=status)
