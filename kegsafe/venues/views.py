"""Signing in, the venue's settings, its own limits and its people."""

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth import views as auth_views
from django.core.exceptions import ValidationError
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse, reverse_lazy
from django.utils import timezone

from kegsafe.ledger.forms import errors_shown_in
from kegsafe.ledger.queries import history
from kegsafe.venues import queries, services
from kegsafe.venues.access import (
    EVERYBODY,
    MANAGERS,
    NOBODY,
    OWNERS,
    SESSION_KEY,
    VenueRequest,
    page,
    posted_key,
)
from kegsafe.venues.forms import (
    AccessForm,
    LocalLimitForm,
    NewPasswordForm,
    PersonForm,
    RoleForm,
    VenueForm,
    WithdrawLimitForm,
)
from kegsafe.venues.models import LocalLimit, Membership


class SignIn(auth_views.LoginView):
    """Ask who somebody is; a person who is signed in goes on."""

    redirect_authenticated_user = True


class ChangePassword(auth_views.PasswordChangeView):
    """Let a person change the password; each of their venues' ledgers says that it happened."""

    success_url = reverse_lazy("password-changed")

    def form_valid(self, form: Form) -> HttpResponse:
        """Change the password and record it, or neither."""
        password = form.cleaned_data["new_password1"]
        services.change_own_password(user=form.user, password=password)
        # This device stays signed in; the others must sign in again.
        update_session_auth_hash(self.request, form.user)
        return redirect(self.success_url)


@page(read=EVERYBODY, post=EVERYBODY)
def switch(request: VenueRequest) -> HttpResponse:
    """Choose which venue's records to see, for somebody who works at several."""
    mine = Membership.objects.filter(user=request.user, is_active=True).select_related("venue")
    if request.method == "POST":
        chosen = get_object_or_404(mine, venue_id=posted_key(request, "venue"))
        request.session[SESSION_KEY] = chosen.venue_id
        return redirect("home")
    return render(request, "venues/switch.html", {"memberships": mine.order_by("venue__name")})


@page(read=EVERYBODY, post=OWNERS)
def settings(request: VenueRequest) -> HttpResponse:
    """Show the venue's settings; an owner changes them."""
    form = None
    if request.membership.role in OWNERS:
        form = VenueForm(request.POST or None, record=request.venue)
    if form and form.is_valid():
        with errors_shown_in(form):
            services.amend_venue(
                venue=request.venue,
                changes=form.changes(),
                reason=form.cleaned_data["reason"],
                by=request.membership.recorder,
                seen_sequence=form.cleaned_data["seen"],
            )
    if form and form.is_bound and form.is_valid():
        messages.success(request, "Recorded: the settings of the venue.")
        return redirect("venue-settings")
    # An amendment that was refused must not be shown as what is on record.
    request.venue.refresh_from_db()
    context = {"form": form, "events": history(request.venue), "code": request.venue.code}
    return render(request, "venues/settings.html", context)


@page(read=EVERYBODY, post=NOBODY)
def local_limits(request: VenueRequest) -> HttpResponse:
    """Show the code's limits, the venue's own beside them, and what governs today."""
    today = timezone.localdate()
    withdrawn = LocalLimit.objects.filter(venue=request.venue, withdrawn_at__isnull=False)
    context = {
        "rows": queries.limit_rows(request.venue, today),
        "withdrawn": withdrawn,
        "code": request.venue.code,
        "may_change": request.membership.role in OWNERS,
    }
    return render(request, "venues/local_limits.html", context)


@page(read=OWNERS, post=OWNERS)
def local_limit_add(request: VenueRequest) -> HttpResponse:
    """Set a limit of the venue's own."""
    initial = {"valid_from": timezone.localdate(), "rule": request.GET.get("rule")}
    form = LocalLimitForm(request.POST or None, initial=initial)
    if form.is_valid():
        with errors_shown_in(form):
            services.set_local_limit(
                venue=request.venue, by=request.membership.recorder, **form.cleaned_data
            )
    if form.is_bound and form.is_valid():
        messages.success(request, "Recorded: the venue's own limit.")
        return redirect("local-limits")
    return _form_page(request, form, "Set a limit of your own", reverse("local-limits"))


@page(read=OWNERS, post=OWNERS)
def local_limit_withdraw(request: VenueRequest, pk: int) -> HttpResponse:
    """End a limit of the venue's own."""
    limit = get_object_or_404(LocalLimit, pk=pk, venue=request.venue)
    form = WithdrawLimitForm(request.POST or None)
    if form.is_valid():
        with errors_shown_in(form):
            services.withdraw_local_limit(
                limit=limit,
                reason=form.cleaned_data["reason"],
                by=request.membership.recorder,
            )
    if form.is_bound and form.is_valid():
        messages.success(request, "Recorded: the limit is withdrawn.")
        return redirect("local-limits")
    return _form_page(
        request, form, f"Withdraw the limit of {limit.as_fact().in_words}", reverse("local-limits")
    )


@page(read=MANAGERS, post=NOBODY)
def people(request: VenueRequest) -> HttpResponse:
    """List who works here, in which role."""
    memberships = Membership.objects.filter(venue=request.venue).select_related("user")
    context = {
        "memberships": memberships.order_by("-is_active", "user__username"),
        "may_change": request.membership.role in OWNERS,
    }
    return render(request, "venues/people.html", context)


@page(read=OWNERS, post=OWNERS)
def person_add(request: VenueRequest) -> HttpResponse:
    """Give somebody new a role, and an account where they have none."""
    form = PersonForm(request.POST or None)
    if form.is_valid():
        with errors_shown_in(form):
            _add(request, **form.cleaned_data)
    if form.is_bound and form.is_valid():
        messages.success(request, f"Recorded: {form.cleaned_data['username']} works here.")
        return redirect("people")
    return _form_page(request, form, "Add a person", reverse("people"))


@page(read=MANAGERS, post=NOBODY)
def person(request: VenueRequest, pk: int) -> HttpResponse:
    """Show a person's role here and how it came about."""
    membership = _membership(request, pk)
    context = {
        "person": membership,
        "events": history(membership),
        "may_change": request.membership.role in OWNERS,
    }
    return render(request, "venues/person.html", context)


@page(read=OWNERS, post=OWNERS)
def person_role(request: VenueRequest, pk: int) -> HttpResponse:
    """Give a person another role."""
    membership = _membership(request, pk)
    form = RoleForm(request.POST or None, record=membership)
    if form.is_valid():
        with errors_shown_in(form):
            services.change_role(
                membership=membership,
                role=form.cleaned_data["role"],
                reason=form.cleaned_data["reason"],
                by=request.membership.recorder,
            )
    return _person_page(request, form, membership, "Change the role of")


@page(read=OWNERS, post=OWNERS)
def person_access(request: VenueRequest, pk: int) -> HttpResponse:
    """Shut a person out, or let one in again."""
    membership = _membership(request, pk)
    act = services.deactivate if membership.is_active else services.reactivate
    heading = "Shut out" if membership.is_active else "Let in again:"
    form = AccessForm(request.POST or None, record=membership)
    if form.is_valid():
        with errors_shown_in(form):
            act(
                membership=membership,
                reason=form.cleaned_data["reason"],
                by=request.membership.recorder,
            )
    return _person_page(request, form, membership, heading)


@page(read=OWNERS, post=OWNERS)
def person_password(request: VenueRequest, pk: int) -> HttpResponse:
    """Set a new password for somebody who has forgotten theirs."""
    membership = _membership(request, pk)
    form = NewPasswordForm(request.POST or None)
    if form.is_valid():
        with errors_shown_in(form):
            services.set_password(
                membership=membership,
                password=form.cleaned_data["password"],
                set_by=request.user,
                by=request.membership.recorder,
            )
    return _person_page(request, form, membership, "New password for")


def _add(
    request: VenueRequest, *, username: str, full_name: str, role: str, password: str
) -> Membership:
    """Take a colleague of another venue as they are; make an account for anybody else."""
    by = request.membership.recorder
    if not password:
        colleague = services.colleague_called(username, request.user)
        if colleague is None:
            raise ValidationError({"password": "Somebody new needs a first password."})
        return services.give_role(venue=request.venue, user=colleague, role=role, by=by)
    return services.add_person(
        venue=request.venue,
        username=username,
        full_name=full_name,
        role=role,
        password=password,
        by=by,
    )


def _membership(request: VenueRequest, pk: int) -> Membership:
    mine = Membership.objects.select_related("user", "venue")
    return get_object_or_404(mine, pk=pk, venue=request.venue)


def _person_page(
    request: VenueRequest, form: Form, membership: Membership, heading: str
) -> HttpResponse:
    if form.is_bound and form.is_valid():
        messages.success(request, f"Recorded for {membership.user.get_username()}.")
        return redirect("person", membership.pk)
    heading = f"{heading} {membership.user.get_username()}"
    return _form_page(request, form, heading, reverse("person", args=[membership.pk]))


def _form_page(request: HttpRequest, form: Form, heading: str, cancel_url: str) -> HttpResponse:
    context = {"form": form, "heading": heading, "cancel_url": cancel_url}
    return render(request, "venues/form.html", context)
