"""Who may see and do what: every page is fetched through the venue of the person asking."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib.auth.models import User
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, HttpResponseBase, HttpResponseNotAllowed
from django.shortcuts import render
from django.utils import timezone

from kegsafe.venues.models import Membership, Role, Venue
from kegsafe.venues.navigation import venue_context

EVERYBODY = frozenset(Role)
RECORDERS = frozenset({Role.STAFF, Role.MANAGER, Role.OWNER})
MANAGERS = frozenset({Role.MANAGER, Role.OWNER})
OWNERS = frozenset({Role.OWNER})
NOBODY: frozenset[Role] = frozenset()

SESSION_KEY = "venue_id"

METHODS = ("GET", "HEAD", "POST")

View = Callable[..., HttpResponseBase]

__all__ = [
    "EVERYBODY",
    "MANAGERS",
    "NOBODY",
    "OWNERS",
    "RECORDERS",
    "SESSION_KEY",
    "VenueMiddleware",
    "VenueRequest",
    "current_membership",
    "page",
    "posted_key",
    "venue_context",
]


class VenueRequest(HttpRequest):
    """A request inside a venue page: `page` has set the membership and the venue."""

    membership: Membership
    venue: Venue


class VenueMiddleware:
    """Start each request outside any venue, and leave no time zone behind for the next."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.membership = None
        try:
            return self.get_response(request)
        finally:
            timezone.deactivate()


def page(
    *, read: frozenset[Role] = EVERYBODY, post: frozenset[Role] = RECORDERS
) -> Callable[[View], View]:
    """Let the roles in `read` open a page and the roles in `post` send its form.

    Nobody comes this far signed out: LoginRequiredMiddleware sees to that.
    Sets `request.membership` and `request.venue`. The two sets stay readable
    on the view, so that a test can hold every URL against the table of roles.
    """

    def decorate(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            if request.method not in METHODS:
                return HttpResponseNotAllowed(METHODS)
            membership = current_membership(request)
            if membership is None:
                return render(request, "venues/no_venue.html", status=403)
            _enter(request, membership)
            allowed = read if request.method in {"GET", "HEAD"} else post
            if membership.role not in allowed:
                raise PermissionDenied(_who_may(allowed))
            return view(request, *args, **kwargs)

        guarded.read_roles, guarded.post_roles = read, post
        return guarded

    return decorate


def current_membership(request: HttpRequest) -> Membership | None:
    """Return the active membership the session points at, else the first by venue name."""
    memberships = sorted(
        memberships_of(request.user), key=lambda membership: membership.venue.name.casefold()
    )
    chosen = request.session.get(SESSION_KEY)
    for membership in memberships:
        membership.user = request.user
        membership.has_others = len(memberships) > 1
        if membership.venue_id == chosen:
            return membership
    return memberships[0] if memberships else None


def memberships_of(user: User) -> list[Membership]:
    """Return a person's active memberships; MembershipBackend has fetched them with the person."""
    fetched = getattr(user, "active_memberships", None)
    if fetched is not None:
        return fetched
    return list(Membership.objects.filter(user=user, is_active=True).select_related("venue"))


def posted_key(request: HttpRequest, name: str) -> int:
    """Return the key that a button sent, 0 (which is nobody's) where that is no number."""
    typed = request.POST.get(name, "")
    return int(typed) if typed.isdecimal() and len(typed) < 19 else 0


def _enter(request: HttpRequest, membership: Membership) -> None:
    request.membership = membership
    request.venue = membership.venue
    timezone.activate(membership.venue.zone)


def _who_may(roles: frozenset[Role]) -> str:
    if not roles:
        return "Nobody may do this."
    names = [str(role.label).lower() for role in Role if role in roles]
    return f"This is for {' or '.join(names)}. Ask one of them, or sign in as one."
