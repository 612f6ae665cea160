"""The calendar feed, and the private addresses under which it can be followed."""

from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from kegsafe.cleaning import services
from kegsafe.cleaning.calendar import calendar_of
from kegsafe.cleaning.forms.feed import FeedForm
from kegsafe.cleaning.models import FeedAddress
from kegsafe.cleaning.queries import due_of
from kegsafe.frame.tokens import token_hash
from kegsafe.ledger.forms import errors_shown_in
from kegsafe.venues.access import MANAGERS, NOBODY, VenueRequest, page


@login_not_required
@never_cache
@require_safe
def calendar(request: HttpRequest, token: str) -> HttpResponse:
    """Answer a calendar program. An unknown and a revoked address are both simply not there."""
    address = (
        FeedAddress.objects.filter(token_hash=token_hash(token), revoked_at=None)
        .select_related("venue")
        .first()
    )
    if address is None:
        raise Http404
    now = timezone.now()
    body = calendar_of(address.venue, due_of(address.venue, now), now)
    return HttpResponse(body, content_type="text/calendar; charset=utf-8")


@page(read=MANAGERS, post=MANAGERS)
def addresses(request: VenueRequest) -> HttpResponse:
    """List the addresses and make one; its secret is shown on this page once."""
    form, made = FeedForm(request.POST or None), ""
    if form.is_valid():
        with errors_shown_in(form):
            _, token = services.make_feed_address(
                venue=request.venue, by=request.membership.recorder, **form.cleaned_data
            )
            made = request.build_absolute_uri(reverse("cleaning-calendar", args=[token]))
            form = FeedForm()
    context = {
        "form": form,
        "made": made,
        "addresses": FeedAddress.objects.filter(venue=request.venue),
    }
    return render(request, "cleaning/feed.html", context)


@page(read=NOBODY, post=MANAGERS)
def revoke(request: VenueRequest, pk: int) -> HttpResponse:
    """End an address."""
    address = get_object_or_404(FeedAddress, pk=pk, venue=request.venue)
    services.revoke_feed_address(address=address, by=request.membership.recorder)
    return redirect("feed-addresses")
