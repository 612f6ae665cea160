"""The guide: a site of a few pages that hold every part of the frame, for the tests only."""

from copy import deepcopy
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.forms import AuthenticationForm
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils import timezone

from kegsafe.frame.layout import PageFormHelper, Part, SideBySide
from kegsafe.ledger.queries import Change, Event
from kegsafe.rules.findings import Finding, Severity
from kegsafe.venues.navigation import ENTRIES

NAVIGATION = [
    {"label": label, "url": f"/{name}", "active": name == "pour", "icon": name}
    for label, name in (
        ("Pour check", "pour"),
        ("Batches", "batch"),
        ("Stock", "stock"),
        ("Cleaning", "cleaning"),
        ("Cold holding", "cold"),
        ("Kegs and lines", "equipment"),
        ("Pressure gear", "pressure"),
        ("Trace", "trace"),
        ("Reports", "report"),
        ("People", "people"),
    )
]

FINDINGS = [
    Finding(
        "demo.use_by",
        Severity.STOP,
        "The use-by of this fill has passed: Tue 7 Apr 2026, 23:59.",
        "Demo code 2026, section 3-501.17(A)",
        "read",
        (("Prepared", "Tue 31 Mar 2026, 18:00"), ("Days kept", "7 of 7"), ("Held at", "4.6 °C")),
    ),
    Finding(
        "demo.reading_gap",
        Severity.ASK,
        "No temperature was read in Cold room 2 for 5 h 20 min.",
        "Venue rule 4: a reading every 4 h",
        "venue",
        (("Last reading", "Wed 8 Apr 2026, 12:40"), ("It said", "3.9 °C")),
    ),
    Finding(
        "demo.allergen_left",
        Severity.WARN,
        "The keg last held a drink with almond; an allergen clean is on record since.",
        "common practice, no source",
        "memory",
    ),
    Finding(
        "demo.line_clean",
        Severity.NOTE,
        "The line was cleaned 6 days ago; every 14 days is asked.",
        "Demo handbook of line cleaning, 2nd edition, p. 12",
        "second-hand",
        (("Cleaned", "Thu 2 Apr 2026, 10:05"), ("Next due", "Thu 16 Apr 2026")),
    ),
    Finding(
        "demo.pressure",
        Severity.NOTE,
        "The set pressure is below the lowest rated part of the gear.",
        "Marked on the keg",
        "venue",
        (("Set", "1.8 bar gauge"), ("Lowest rating", "4.1 bar gauge")),
    ),
]

EVENTS = [
    Event(
        418,
        datetime(2026, 4, 7, 9, 12, tzinfo=UTC),
        "mara",
        "amended",
        "Read the wrong line of the gauge.",
        (
            Change("set pressure", "2.8 bar gauge", "1.8 bar gauge"),
            Change("note", "", "checked twice"),
        ),
        "9f",
    ),
    Event(402, datetime(2026, 4, 6, 17, 40, tzinfo=UTC), "jonas", "filled", "", (), "77"),
]

FACTS = [
    ("Use by", "Tue 7 Apr 2026, 23:59"),
    ("Left", "1 day 3 h left"),
    ("Allergens", "Almond, celery, sulphites"),
    ("Alcohol", None),
]


def serve_guide(settings: Any) -> None:
    """Answer with the guide instead of the site, until the test's settings are put back."""
    templates = deepcopy(settings.TEMPLATES)
    templates[0]["DIRS"].append(Path(__file__).parent / "templates")
    settings.TEMPLATES = templates
    settings.ROOT_URLCONF = __name__


class CleanForm(forms.Form):
    """Every kind of field a page uses."""

    item = forms.ChoiceField(
        label="Keg or line", choices=[("k7", "Keg 7"), ("l2", "Line 2")], widget=forms.RadioSelect
    )
    detergent = forms.ChoiceField(choices=[("", "Choose one"), ("a", "Alkaline detergent 2 %")])
    strength = forms.CharField(help_text="With its unit, as on the test strip: 200 ppm.")
    contact_time = forms.CharField(help_text="For example 10 min.")
    rinsed = forms.BooleanField(label="Rinsed until the strip reads neutral")
    note = forms.CharField(widget=forms.Textarea(attrs={"rows": 3}), required=False)

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(
            self,
            Part(
                "What was cleaned",
                "item",
                sentence="One keg or one line; log a second clean for the other.",
            ),
            Part("With what", "detergent", SideBySide("strength", "contact_time"), "rinsed"),
            Part("Anything else", "note"),
            act="Record the clean",
            cancel_url="/",
        )

    def clean_strength(self) -> str:
        typed = self.cleaned_data["strength"]
        if typed.isdigit():
            raise forms.ValidationError(
                f'"{typed}" has no unit. Write the strength with one: 200 ppm or 0.02 %.'
            )
        return typed


class ListForm(forms.Form):
    """A filter as lists have it."""

    drink = forms.CharField(required=False)
    state = forms.ChoiceField(required=False, choices=[("", "Any"), ("on", "On tap")])


def _enter(request: HttpRequest) -> None:
    request.venue = SimpleNamespace(name="The Copper Finch", units="metric")
    request.membership = SimpleNamespace(
        get_role_display=lambda: "Manager", venue=request.venue, has_others=False
    )
    request.user = SimpleNamespace(
        get_full_name=lambda: "Mara Lindqvist", get_username=lambda: "mara", is_authenticated=True
    )


@login_not_required
def guide(request: HttpRequest) -> HttpResponse:
    """Show every part at once."""
    _enter(request)
    messages.success(request, "Recorded: keg 7 was cleaned.")
    messages.warning(request, "Line 2 is due for a clean tomorrow.")
    messages.error(request, "Keg 9 was not filled: it is on hold.")
    now = timezone.now()
    context = {
        "navigation": NAVIGATION,
        "ledger_url": "/ledger",
        "findings": FINDINGS,
        "facts": FACTS,
        "events": EVENTS,
        "form": CleanForm({"strength": "200", "contact_time": "10 min", "detergent": "a"}),
        "filter_form": ListForm(),
        "page": Paginator(range(60), 20).page(2),
        "now": now,
        "soon": now + timedelta(days=2, hours=3, seconds=30),
        "rows": [("Keg", "Keg 7"), ("Rated pressure", "4.1 bar gauge"), ("Serial number", "")],
        "outcomes": ["pour", "ask", "stop"],
        "points": ["Close the cylinder valve first.", "Wear eye protection."],
    }
    return render(request, "guide.html", context)


@login_not_required
def one_verdict(request: HttpRequest, outcome: str) -> HttpResponse:
    """Show a pour check as staff see it."""
    _enter(request)
    weights = {"pour": FINDINGS[3:], "ask": FINDINGS[1:], "stop": FINDINGS}
    context = {
        "navigation": NAVIGATION,
        "outcome": outcome,
        "findings": weights[outcome],
        "facts": FACTS,
        "now": timezone.now(),
    }
    return render(request, "one_verdict.html", context)


@login_not_required
def form(request: HttpRequest) -> HttpResponse:
    """Show an empty form, or the mistakes in one that was sent."""
    _enter(request)
    bound = CleanForm(request.POST or None)
    if bound.is_valid():
        messages.success(request, "Recorded: keg 7 was cleaned.")
    return render(request, "one_form.html", {"navigation": NAVIGATION, "form": bound})


@login_not_required
def sign_in(request: HttpRequest) -> HttpResponse:
    """Show the sign-in page."""
    return render(request, "registration/login.html", {"form": AuthenticationForm(), "next": "/"})


@login_not_required
def message_page(request: HttpRequest, name: str) -> HttpResponse:
    """Show 403, 404, 429 or 500."""
    if name == "403":
        _enter(request)
    context = {
        "exception": "This is for manager or owner. Ask one of them, or sign in as one.",
        "failure_limit": 5,
        "cooloff_timedelta": timedelta(minutes=15),
        "username": "jonas",
        "navigation": NAVIGATION if name == "403" else None,
    }
    return render(request, f"{name}.html", context)


urlpatterns = [
    path("", guide),
    path("verdict/<str:outcome>", one_verdict),
    path("form", form),
    path("sign-in", sign_in, name="sign-in"),
    path("sign-out", sign_in, name="sign-out"),
    path("password", sign_in, name="password-change"),
    path("message/<str:name>", message_page),
    *(path(f"room/{entry.url_name}", guide, name=entry.url_name) for entry in ENTRIES),
]
