"""Which address a request came from, for the lock-out after repeated wrong passwords."""

from ipaddress import ip_address

from django.conf import settings
from django.http import HttpRequest


def client_address(request: HttpRequest) -> str:
    """Return the caller's address.

    Behind a trusted proxy it is the last entry of X-Forwarded-For, the one
    our own proxy wrote: everything before it can be made up by the caller.
    """
    direct = request.META.get("REMOTE_ADDR", "")
    if not settings.TRUSTED_PROXY:
        return direct
    forwarded = request.META.get("HTTP_X_FORWARDED_FOR", "").rsplit(",", 1)[-1].strip()
    return forwarded if _is_address(forwarded) else direct


def _is_address(text: str) -> bool:
    try:
        ip_address(text)
    except ValueError:
        return False
    return True
