"""What the pages of the stock room share: lists with a search, and pages that are one form."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.forms import Form
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render

from kegsafe.ledger.forms import errors_shown_in
from kegsafe.stock.forms.suppliers import FindForm
from kegsafe.venues.access import MANAGERS, RECORDERS, VenueRequest

ROWS_A_PAGE = 50


def list_page(
    request: VenueRequest, rows: Callable[..., QuerySet], template: str, **more: Any
) -> HttpResponse:
    """Show a list, narrowed by the words looked for, 50 rows a page."""
    find = FindForm(request.GET)
    query = find.cleaned_data["q"] if find.is_valid() else ""
    paginator = Paginator(rows(request.venue, query=query), ROWS_A_PAGE)
    context = {
        "page": paginator.get_page(request.GET.get("page")),
        "find": find,
        "query": query,
        **may(request),
        **more,
    }
    return render(request, template, context)


def sent(request: VenueRequest) -> QueryDict | None:
    """Return what was sent, None when the page is only opened: an empty form is judged too."""
    return request.POST if request.method == "POST" else None


def may(request: VenueRequest) -> dict[str, bool]:
    """Return which acts a page offers to this person."""
    role = request.membership.role
    return {"may_change": role in MANAGERS, "may_record": role in RECORDERS}


def act_page(
    request: VenueRequest,
    form: Form,
    act: Callable[[Form], object],
    *,
    heading: str,
    done: Callable[[Any], str],
    done_url: Callable[[Any], str],
    cancel_url: str,
    template: str = "stock/form.html",
    **more: Any,
) -> HttpResponse:
    """Show a form and do what it says: `act` calls a service, what it refuses shows in the form.

    `done` and `done_url` take what the service returned: the sentence to show
    and the page to go on to.
    """
    outcome = None
    if form.is_valid():
        with errors_shown_in(form):
            outcome = act(form)
    if form.is_bound and form.is_valid():
        messages.success(request, done(outcome))
        return redirect(done_url(outcome))
    context = {"form": form, "heading": heading, "cancel_url": cancel_url, **more}
    return render(request, template, context)
