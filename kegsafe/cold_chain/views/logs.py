"""Pages of a logger's file: send it, look at what was understood, correct it, import it."""

import io
from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal
from itertools import islice
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from kegsafe.cold_chain import services
from kegsafe.cold_chain.forms.places import LogFileForm, ShapeForm
from kegsafe.cold_chain.log_file import (
    SNIFFED_BYTES,
    BadRow,
    LogShape,
    Sniffed,
    UnreadableLog,
    read,
    sniff,
)
from kegsafe.cold_chain.models import ImportedLog, LogFile
from kegsafe.equipment.models import Place
from kegsafe.ledger.queries import history
from kegsafe.venues.access import EVERYBODY, NOBODY, RECORDERS, VenueRequest, page

_ROWS_SHOWN = 10
_BAD_ROWS_SHOWN = 100


@page(read=RECORDERS, post=RECORDERS)
def log_add(request: VenueRequest, pk: int) -> HttpResponse:
    """Take a logger's file to look at; nothing is recorded yet."""
    place = get_object_or_404(Place, pk=pk, venue=request.venue)
    sent = request.method == "POST"
    form = LogFileForm(request.POST if sent else None, request.FILES if sent else None, place=place)
    if form.is_valid():
        upload = form.cleaned_data["file"]
        content = upload.read()
        try:
            sniff(content[:SNIFFED_BYTES])
        except UnreadableLog as trouble:
            form.add_error("file", str(trouble))
        else:
            kept = services.keep_log_file(
                place=place,
                logger=form.cleaned_data["logger"],
                name=upload.name,
                content=content,
                by=request.membership.recorder,
            )
            return redirect(kept)
    context = {
        "form": form,
        "heading": f"{place}: a logger's file",
        "cancel_url": reverse("cold-place", args=[pk]),
    }
    return render(request, "cold_chain/form.html", context)


@page(read=RECORDERS, post=RECORDERS)
def log_file(request: VenueRequest, pk: int) -> HttpResponse:
    """Show how a file was understood and its first readings; import it as it was corrected."""
    kept = get_object_or_404(
        LogFile.objects.select_related("place", "logger"), pk=pk, place__venue=request.venue
    )
    content = bytes(kept.content)
    sniffed = sniff(content[:SNIFFED_BYTES])
    shape = services.remembered(sniffed, kept.logger.shape if kept.logger else None)
    form = ShapeForm(request.POST or None, shape=shape)
    doubts: tuple[str, ...] = ()
    if form.is_valid():
        try:
            shape = form.chosen()
            if "look" not in request.POST:
                return _imported(request, kept, content, shape, form)
        except services.DoubtfulLog as doubtful:
            doubts = doubtful.doubts
        except (UnreadableLog, ValidationError) as refused:
            form.add_error(None, getattr(refused, "messages", None) or str(refused))
    context = {
        "file": kept,
        "form": form,
        "understood": sniffed.understood,
        "questions": _open_questions(sniffed, shape),
        "rows": list(_first_rows(content, shape)),
        "doubts": doubts,
        "cancel_url": reverse("cold-place", args=[kept.place_id]),
    }
    return render(request, "cold_chain/log_file.html", context)


@page(read=EVERYBODY, post=NOBODY)
def log(request: VenueRequest, pk: int) -> HttpResponse:
    """Show what came of a file: counts, bad rows, and how it was read."""
    shown = get_object_or_404(
        ImportedLog.objects.select_related("place", "logger"), pk=pk, place__venue=request.venue
    )
    zone = timezone.get_current_timezone()
    context = {
        "log": shown,
        "first_at": _moment(shown.first_s, zone),
        "last_at": _moment(shown.last_s, zone),
        "bad_rows": shown.bad_rows.all()[:_BAD_ROWS_SHOWN],
        "bad_rows_shown": min(shown.bad, _BAD_ROWS_SHOWN),
        "events": history(shown),
    }
    return render(request, "cold_chain/log.html", context)


def _imported(
    request: VenueRequest, kept: LogFile, content: bytes, shape: LogShape, form: ShapeForm
) -> HttpResponse:
    done = services.import_log(
        place=kept.place,
        stream=io.BytesIO(content),
        name=kept.name,
        shape=shape,
        logger=kept.logger,
        by=request.membership.recorder,
        accept_doubts=form.cleaned_data["accept_doubts"],
    )
    kept.delete()
    if done.is_new:
        messages.success(request, f"Recorded: {done.log.added} readings added.")
    else:
        messages.info(request, "This file was imported before: nothing was added.")
    return redirect(done.log)


def _open_questions(sniffed: Sniffed, shape: LogShape) -> list[str]:
    return [asked.text for asked in sniffed.questions if getattr(shape, asked.field) is None]


def _first_rows(content: bytes, shape: LogShape) -> Iterator[dict[str, Any]]:
    """Yield the first rows as they would go in; nothing while something is still to be chosen."""
    if not shape.is_whole:
        return
    zone = timezone.get_current_timezone()
    for row in islice(read(io.BytesIO(content), shape), _ROWS_SHOWN):
        if isinstance(row, BadRow):
            yield {"line": row.line, "reason": row.reason}
        else:
            yield {
                "line": row.line,
                "at": _moment(row.at_s, zone),
                "degc": Decimal(row.centi_degc) / 100,
            }


def _moment(at_s: int | None, zone: Any) -> datetime | None:
    return None if at_s is None else datetime.fromtimestamp(at_s, zone)
