"""Pages of the gas system: what feeds what, what a regulator is set to, what is in a cylinder."""

from collections.abc import Callable

from django.forms import Form
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from kegsafe.ledger.forms import errors_shown_in
from kegsafe.pressure import services
from kegsafe.pressure.forms.gas import ChargeForm, ConnectForm, SetPressureForm, WeighForm
from kegsafe.pressure.models import Connection, Item
from kegsafe.pressure.queries import gas_system, in_flow_order, item_key, open_connections
from kegsafe.pressure.views.pages import done, form_page, is_done, item_of, url_of
from kegsafe.rules.findings import gravest_first
from kegsafe.rules.pressure.gas_system import borne_now, ceiling
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, RECORDERS, VenueRequest, page


@page(read=EVERYBODY, post=NOBODY)
def gas(request: VenueRequest) -> HttpResponse:
    """Show the gas system as it is connected, with the highest set pressure of each regulator."""
    system = gas_system(request.venue)
    regulators = Item.objects.filter(venue=request.venue, kind=Item.Kind.REGULATOR)
    rows = []
    for regulator in regulators.exclude(service="scrapped"):
        key = item_key(regulator.pk)
        highest = ceiling(system, key)
        against, _ = borne_now(system, key)
        found = gravest_first(dict.fromkeys([*highest.findings, *against]))
        rows.append((regulator, found))
    context = {
        "connections": in_flow_order(open_connections(request.venue)),
        "regulators": rows,
        "may_record": request.membership.role in RECORDERS,
    }
    return render(request, "pressure/gas.html", context)


@page(read=RECORDERS, post=RECORDERS)
def item_connect(request: VenueRequest, pk: int) -> HttpResponse:
    """Connect an item to what it feeds."""
    source = item_of(request, pk)
    form = ConnectForm(request.POST or None, source=source)
    if form.is_valid():
        with errors_shown_in(form):
            services.connect(
                source=source,
                at=timezone.now(),
                by=request.membership.recorder,
                **form.record_values(),
            )
    if is_done(form):
        return done(request, f"{source} is connected.", "gas")
    return form_page(request, form, f"Connect {source}", url_of(source))


@page(read=RECORDERS, post=RECORDERS)
def gas_disconnect(request: VenueRequest, pk: int) -> HttpResponse:
    """End a connection."""
    connections = Connection.objects.select_related("source", "item", "keg")
    connection = get_object_or_404(connections, pk=pk, venue=request.venue)
    form = Form(request.POST if request.method == "POST" else None)
    if form.is_valid():
        with errors_shown_in(form):
            services.disconnect(connection, at=timezone.now(), by=request.membership.recorder)
    if is_done(form):
        return done(request, f"{connection} is disconnected.", "gas")
    return render(request, "pressure/disconnect.html", {"connection": connection, "form": form})


@page(read=MANAGERS, post=MANAGERS)
def item_set(request: VenueRequest, pk: int) -> HttpResponse:
    """Record what a regulator is set to."""
    regulator = item_of(request, pk, kind=Item.Kind.REGULATOR)
    form = SetPressureForm(request.POST or None)
    if form.is_valid():
        with errors_shown_in(form):
            services.set_pressure(
                regulator=regulator,
                set_gauge_pa=form.cleaned_data["set_pressure"].value,
                by=request.membership.recorder,
            )
    if is_done(form):
        return done(request, f"{regulator} is set.", regulator)
    highest = ceiling(gas_system(request.venue), item_key(pk))
    return form_page(
        request, form, f"Set {regulator}", url_of(regulator), findings=highest.findings
    )


@page(read=RECORDERS, post=RECORDERS)
def item_charge(request: VenueRequest, pk: int) -> HttpResponse:
    """Accept a fresh charge of gas in a cylinder."""
    cylinder = item_of(request, pk, kind=Item.Kind.CYLINDER)
    form = ChargeForm(request.POST or None)
    return _of_cylinder(request, cylinder, form, services.charge_cylinder, "received_at")


@page(read=RECORDERS, post=RECORDERS)
def item_weigh(request: VenueRequest, pk: int) -> HttpResponse:
    """Record a cylinder's weight."""
    cylinder = item_of(request, pk, kind=Item.Kind.CYLINDER)
    form = WeighForm(request.POST or None)
    return _of_cylinder(request, cylinder, form, services.weigh_cylinder, "weighed_at")


def _of_cylinder(
    request: VenueRequest,
    cylinder: Item,
    form: ChargeForm | WeighForm,
    service: Callable[..., object],
    moment: str,
) -> HttpResponse:
    if form.is_valid():
        values = form.record_values()
        values[moment] = values[moment] or timezone.now()
        with errors_shown_in(form):
            service(cylinder=cylinder, by=request.membership.recorder, **values)
    if is_done(form):
        return done(request, f"{cylinder}.", cylinder)
    heading = "Fresh gas" if moment == "received_at" else "On the scale"
    return form_page(request, form, f"{heading}: {cylinder}", url_of(cylinder))
