"""Pages of one item, and of a keg as pressure equipment."""

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from kegsafe.equipment.models import Keg
from kegsafe.ledger.forms import errors_shown_in
from kegsafe.ledger.queries import history
from kegsafe.pressure import services
from kegsafe.pressure.deciders import DECIDERS
from kegsafe.pressure.forms.items import (
    ItemAmendForm,
    ItemForm,
    ItemServiceForm,
    PlateForm,
    kinds_to_add,
)
from kegsafe.pressure.models import Item, KegPlate
from kegsafe.pressure.queries import (
    gas_system,
    item_facts,
    item_key,
    keg_facts,
    kegs_served,
    open_connections,
    open_failures,
    regime_key,
    standing_of_kegs,
)
from kegsafe.pressure.views.pages import (
    done,
    form_page,
    is_done,
    item_of,
    keg_of,
    owner_of,
    url_of,
)
from kegsafe.quantities import Kind, write
from kegsafe.rules.findings import gravest_first, outcome_of
from kegsafe.rules.pressure.bar_litre import Vessel, readings
from kegsafe.rules.pressure.checks import checks_of
from kegsafe.rules.pressure.due import due
from kegsafe.rules.pressure.gas_system import ceiling
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, RECORDERS, VenueRequest, page

_SHOWN = 20


@page(read=EVERYBODY, post=NOBODY)
def item(request: VenueRequest, pk: int) -> HttpResponse:
    """Show an item: what is due and why, its plate, its gas, its checks and papers."""
    shown = item_of(request, pk)
    context = _about(request, shown)
    if shown.kind == Item.Kind.REGULATOR:
        context["ceiling"] = ceiling(gas_system(request.venue), item_key(pk))
    # A leak test has a form of its own.
    context["next_check"] = next(each for each in context["dues"] if each.check != "leak")
    fills = list(shown.gas_fills.all()[:_SHOWN])
    connections = open_connections(request.venue)
    context |= {
        "item": shown,
        "feeds": [each for each in connections if each.source_id == pk],
        "fed_by": [each for each in connections if each.item_id == pk],
        "gas_fills": fills,
        "served": kegs_served(shown, fills[0].received_at) if fills else (),
        "weighings": shown.weighings.all()[:_SHOWN],
    }
    return render(request, "pressure/item.html", context)


@page(read=EVERYBODY, post=NOBODY)
def keg(request: VenueRequest, pk: int) -> HttpResponse:
    """Show a keg as pressure equipment: what its plate implies, and what is due on it."""
    shown = keg_of(request, pk)
    plate = KegPlate.objects.filter(keg=shown).first()
    vessel = Vessel(
        str(shown),
        shown.capacity_ml,
        shown.rated_gauge_pa,
        plate.is_for_drinks_distribution if plate else None,
    )
    against = gravest_first(standing_of_kegs([pk])[pk])
    context = _about(request, shown) | {
        "keg": shown,
        "against": against,
        "outcome": outcome_of(against) if against else None,
        "plate": plate,
        "readings": readings(vessel, regime_key(request.venue)),
        "relief_valves": shown.relief_valves.exclude(service="scrapped"),
        "fed_by": [each for each in open_connections(request.venue) if each.keg_id == pk],
    }
    return render(request, "pressure/keg.html", context)


@page(read=MANAGERS, post=MANAGERS)
def item_add(request: VenueRequest) -> HttpResponse:
    """Add an item; its kind comes first, as each kind has a plate of its own."""
    kind = request.GET.get("kind", "")
    if kind not in Item.Kind.values:
        return render(request, "pressure/kinds.html", {"kinds": kinds_to_add()})
    form = ItemForm(request.POST or None, kind=kind, venue=request.venue)
    if form.is_valid():
        with errors_shown_in(form):
            added = services.add_item(
                venue=request.venue,
                kind=kind,
                by=request.membership.recorder,
                **form.record_values(),
            )
    if is_done(form):
        return done(request, f"{added} is in the register.", added)
    return form_page(request, form, f"Add: {Item.Kind(kind).label}", reverse("pressure"))


@page(read=MANAGERS, post=MANAGERS)
def item_amend(request: VenueRequest, pk: int) -> HttpResponse:
    """Amend what is known of an item."""
    shown = item_of(request, pk)
    form = ItemAmendForm(request.POST or None, record=shown, set_over=_set_over(shown))
    if form.is_valid():
        with errors_shown_in(form):
            services.amend_item(
                item=shown,
                changes=form.record_values(),
                reason=form.cleaned_data["reason"],
                by=request.membership.recorder,
                seen_sequence=form.cleaned_data["seen"],
                gas_now=form.cleaned_data.get("gas_now", ""),
            )
    if is_done(form):
        return done(request, f"{shown} is amended; what it said first is kept.", shown)
    return form_page(request, form, f"Amend: {shown}", url_of(shown))


@page(read=RECORDERS, post=RECORDERS)
def item_service(request: VenueRequest, pk: int) -> HttpResponse:
    """Take an item out of use, or put it back."""
    shown = item_of(request, pk)
    form = ItemServiceForm(request.POST or None, item=shown)
    if form.is_valid():
        with errors_shown_in(form):
            services.set_item_service(shown, by=request.membership.recorder, **form.cleaned_data)
    if is_done(form):
        return done(request, f"{shown} is {shown.get_service_display().lower()}.", shown)
    return form_page(request, form, f"{shown}: may it be used?", url_of(shown))


@page(read=MANAGERS, post=MANAGERS)
def keg_plate(request: VenueRequest, pk: int) -> HttpResponse:
    """Record what else a keg's plate says."""
    shown = keg_of(request, pk)
    plate = KegPlate.objects.filter(keg=shown).first()
    form = PlateForm(request.POST or None, plate=plate, venue=request.venue)
    if form.is_valid():
        with errors_shown_in(form):
            services.state_plate(
                keg=shown,
                values=form.record_values(),
                reason=form.cleaned_data["reason"],
                by=request.membership.recorder,
            )
    if is_done(form):
        return done(request, f"the plate of {shown}.", url_of(shown))
    return form_page(request, form, f"Plate of {shown}", url_of(shown))


def _set_over(item: Item) -> list[str]:
    """Return each regulator whose pressure stands on an item, with what it is set to."""
    system, key, units = gas_system(item.venue), item_key(item.pk), item.venue.units
    return [
        f"{part.name} is set to {write(part.set_gauge_pa, Kind.GAUGE_PRESSURE, units)}"
        for part in (system.set_over(key) if key in system.parts else ())
    ]


def _about(request: VenueRequest, thing: Item | Keg) -> dict[str, object]:
    """Return what the pages of items and kegs share."""
    is_keg = isinstance(thing, Keg)
    facts = keg_facts(thing) if is_keg else item_facts(thing)
    checks = thing.pressure_checks if is_keg else thing.checks
    documents = thing.pressure_documents if is_keg else thing.documents
    return {
        "dues": due(facts, timezone.localdate()),
        "rules": checks_of("keg" if is_keg else thing.kind, facts.regime),
        "failures": open_failures(**owner_of(thing)),
        "checks": checks.all()[:_SHOWN],
        "documents": documents.all(),
        "events": history(thing),
        "deciders": DECIDERS,
        "may_record": request.membership.role in RECORDERS,
        "may_change": request.membership.role in MANAGERS,
        "is_owner": request.membership.role == "owner",
    }
