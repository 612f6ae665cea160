"""Pages of recalls: begin one, look for each piece, do the tasks, write the letter, close it."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from kegsafe.ledger.forms import errors_shown_in
from kegsafe.ledger.queries import history
from kegsafe.quantities import write
from kegsafe.recalls import queries, services
from kegsafe.recalls.forms import BeginForm, CloseForm, DoneForm, SettleForm, TaskForm
from kegsafe.recalls.models import Recall, RecallItem, RecallTask
from kegsafe.stock.models import Lot
from kegsafe.stock.services.drawing import KIND_OF
from kegsafe.stock.views.pages import act_page, list_page, may, sent
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, RECORDERS, VenueRequest, page

_MOST_LETTERS = 80
_GOODS = {"ml": "Drinks and liquids", "g": "Goods by weight", "each": "Goods by the piece"}


@page(read=EVERYBODY, post=NOBODY)
def recalls(request: VenueRequest) -> HttpResponse:
    """List the recalls and drills, newest first."""
    return list_page(request, lambda venue, query: queries.recalls(venue), "recalls/recalls.html")


@page(read=MANAGERS, post=MANAGERS)
def begin(request: VenueRequest) -> HttpResponse:
    """Find lots, look at what they went into, and begin a recall or a drill."""
    wanted = request.GET.get("q", "").strip()[:_MOST_LETTERS]
    offered = _offered(request, wanted)
    form = BeginForm(sent(request), lots=offered, initial={"lots": _ticked(request)})
    affected = None
    if form.is_bound and form.is_valid():
        if "look" in request.POST:
            keys = [lot.pk for lot in form.cleaned_data["lots"]]
            affected = queries.affected_by(request.venue, keys)
        else:
            with errors_shown_in(form):
                recall = services.begin_recall(
                    venue=request.venue,
                    lots=list(form.cleaned_data["lots"]),
                    reason=form.cleaned_data["reason"],
                    notice=form.cleaned_data["notice"],
                    is_drill=form.cleaned_data["is_drill"],
                    by=request.membership.recorder,
                )
            if form.is_valid():
                messages.success(request, _begun(recall))
                return redirect(recall)
    context = {
        "form": form,
        "wanted": wanted,
        "offers_some": form.is_bound or bool(offered),
        "offered_most": queries.MOST_LOTS_OFFERED,
        "affected": affected,
        "cancel_url": reverse("recalls"),
    }
    return render(request, "recalls/begin.html", context)


@page(read=EVERYBODY, post=NOBODY)
def recall(request: VenueRequest, pk: int) -> HttpResponse:
    """Show a recall: how far it has come, what is to be found, what is to be done."""
    shown = _recall(request, pk)
    items = queries.items_of(shown)
    context = {
        "recall": shown,
        "items": queries.with_places(shown, items),
        "tasks": list(shown.tasks.all()),
        "starting_lots": queries.starting_lots(shown),
        "progress": (progress := queries.progress_of(shown, items)),
        "balances": [
            (_GOODS[measure], KIND_OF[measure].value, balance)
            for measure, balance in progress.balances.items()
        ],
        "events": history(shown),
        "deference": request.venue.code.deference,
        **may(request),
    }
    return render(request, "recalls/recall.html", context)


@page(read=NOBODY, post=MANAGERS)
def recall_again(request: VenueRequest, pk: int) -> HttpResponse:
    """Look again for what the lots went into."""
    shown = _recall(request, pk)
    form = DoneForm({})
    form.is_valid()
    with errors_shown_in(form):
        new = services.look_again(recall=shown, by=request.membership.recorder)
        said = "Nothing new was found." if new == 0 else f"{new} more on the list now."
        messages.success(request, said)
    for error in form.non_field_errors():
        messages.error(request, error)
    return redirect(shown)


@page(read=RECORDERS, post=RECORDERS)
def recall_item(request: VenueRequest, pk: int) -> HttpResponse:
    """Say what looking for one piece came to."""
    item = get_object_or_404(
        RecallItem.objects.select_related(
            "recall", "lot__ingredient", "fill__keg", "fill__batch__recipe"
        ),
        pk=pk,
        recall__venue=request.venue,
    )
    amount = write(item.amount, item.kind, request.venue.units)
    shown = item.recall.get_absolute_url()
    return act_page(
        request,
        SettleForm(sent(request), item=item, shown_amount=amount, initial=_said(request, item)),
        lambda form: services.settle_item(
            item=item, by=request.membership.recorder, **form.values()
        ),
        heading=str(item),
        done=lambda settled: f"Recorded: {settled}, {settled.get_outcome_display().lower()}.",
        done_url=lambda _: shown,
        cancel_url=shown,
        template="recalls/form.html",
        sentence=f"{item.recall}: {item.recall.reason}",
    )


@page(read=RECORDERS, post=RECORDERS)
def recall_task_add(request: VenueRequest, pk: int) -> HttpResponse:
    """Set one more task."""
    shown = _recall(request, pk)
    return act_page(
        request,
        TaskForm(sent(request)),
        lambda form: services.add_task(
            recall=shown, by=request.membership.recorder, **form.cleaned_data
        ),
        heading="Set a task",
        done=lambda task: f"Set: {task}",
        done_url=lambda _: shown.get_absolute_url(),
        cancel_url=shown.get_absolute_url(),
        template="recalls/form.html",
        sentence=f"{shown}: {shown.reason}",
    )


@page(read=RECORDERS, post=RECORDERS)
def recall_task(request: VenueRequest, pk: int) -> HttpResponse:
    """Record a task as done."""
    task = get_object_or_404(
        RecallTask.objects.select_related("recall"), pk=pk, recall__venue=request.venue
    )
    return act_page(
        request,
        DoneForm(sent(request)),
        lambda form: services.finish_task(
            task=task, note=form.cleaned_data["note"], by=request.membership.recorder
        ),
        heading=task.what,
        done=lambda _: "Recorded as done.",
        done_url=lambda _: task.recall.get_absolute_url(),
        cancel_url=task.recall.get_absolute_url(),
        template="recalls/form.html",
        sentence=f"{task.recall}: {task.recall.reason}",
    )


@page(read=EVERYBODY, post=NOBODY)
def recall_letter(request: VenueRequest, pk: int) -> HttpResponse:
    """Show the letter to a supplier or an authority, ready to print."""
    shown = _recall(request, pk)
    items = queries.items_of(shown)
    context = {
        "recall": shown,
        "starting_lots": queries.starting_lots(shown),
        "items": items,
        "progress": queries.progress_of(shown, items),
        "deference": request.venue.code.deference,
    }
    return render(request, "recalls/letter.html", context)


@page(read=MANAGERS, post=MANAGERS)
def recall_close(request: VenueRequest, pk: int) -> HttpResponse:
    """Close it with a word on how it ended."""
    shown = _recall(request, pk)
    return act_page(
        request,
        CloseForm(sent(request), is_drill=shown.is_drill),
        lambda form: services.close_recall(
            recall=shown, by=request.membership.recorder, **form.cleaned_data
        ),
        heading=f"Close {str(shown).lower()}",
        done=lambda closed: f"{closed} is closed.",
        done_url=lambda _: shown.get_absolute_url(),
        cancel_url=shown.get_absolute_url(),
        template="recalls/form.html",
        sentence=shown.reason,
    )


def _recall(request: VenueRequest, pk: int) -> Recall:
    return get_object_or_404(Recall.objects.select_related("venue"), pk=pk, venue=request.venue)


def _offered(request: VenueRequest, wanted: str) -> Any:
    """Return the lots to tick: those asked for, and when a form comes back, those it names."""
    if request.method == "POST":
        keys = [key for key in request.POST.getlist("lots") if key.isdecimal() and len(key) < 19]
    else:
        keys = _ticked(request)
    found = [lot.pk for lot in queries.lots_to_start_from(request.venue, wanted)]
    return (
        Lot.objects.filter(venue=request.venue, pk__in=[*keys, *found])
        .exclude(status=Lot.Status.REJECTED)
        .select_related("ingredient", "delivery__supplier")
        .order_by("-came_into_being_at", "-pk")
    )


def _ticked(request: VenueRequest) -> list[str]:
    keys = request.GET.getlist("lot")
    return [key for key in keys if key.isdecimal() and len(key) < 19]


def _begun(recall: Recall) -> str:
    if recall.is_drill:
        return f"{recall} begun: the clock runs, nothing is held. Look for each piece."
    return f"{recall} begun: everything the lots went into is on hold. Look for each piece."


def _said(request: VenueRequest, item: RecallItem) -> dict[str, Any]:
    """Return what was said before, so that a second word begins from the first."""
    if item.settled_at is None:
        return {}
    return {
        "outcome": item.outcome,
        "amount_found": write(item.amount_found, item.kind, request.venue.units),
        "disposition": item.disposition,
        "note": item.note,
    }
