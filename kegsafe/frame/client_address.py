"""Which address a request came from, for the lock-out after repeated wrong passwords."""

from django.conf import settings
from django.http import HttpRequest


def client_address(request: HttpRequest) -> str:
    """Return the caller's address.

    Behind a trusted proxy it is the last entry of X-Forwarded-For, the one
    our own proxy wrote: everything before it can be made up by the caller.
    """
    forwarded = request.META.get("HTTP_X_FORWARDED_FOR", "")
    if settings.TRUSTED_PROXY and forwarded:
        return forwarded.rsplit(",", 1)[-1].strip()
    return request.META.get("REMOTE_ADDR", "")
