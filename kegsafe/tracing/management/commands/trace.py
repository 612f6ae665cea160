"""`manage.py trace LOT|KEG`: where a lot went, or what is behind a keg, as the pages say it."""

import json
from decimal import Decimal
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from kegsafe.batches.models import Fill
from kegsafe.quantities import Kind, write
from kegsafe.rules.moments import at_moment
from kegsafe.rules.tracing import Node, Sort
from kegsafe.stock.models import Lot
from kegsafe.stock.services.drawing import KIND_OF
from kegsafe.tracing.pages import behind_lines, fill_lines, parts_of
from kegsafe.tracing.queries import FillReached
from kegsafe.tracing.records import FillTrace, LotRow, LotTrace, trace_fill, trace_lot
from kegsafe.venues.commands import one_venue
from kegsafe.venues.models import Venue

NOT_RECORDED = "not recorded"


class Command(BaseCommand):
    help = (
        "Follow a lot forward to every keg and tap, or a keg back to every lot and supplier. "
        "What is mixed counts as mixed evenly; pours are not measured."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "what", help="Our lot code or the supplier's, or a keg's name or label code."
        )
        parser.add_argument("--venue", help="Name of the venue, where there are several.")
        parser.add_argument("--json", action="store_true", help="Print JSON.")

    def handle(self, *args: object, **options: Any) -> None:
        venue = one_venue(options["venue"])
        traces = list(_traces(venue, options["what"].strip()))
        if not traces:
            raise CommandError(
                f'No lot and no keg of {venue} is called "{options["what"]}". Write a whole code: '
                "our lot code, the supplier's, the name of a keg or the code on its label.",
                returncode=2,
            )
        if options["json"]:
            said = [_as_json(trace) for trace in traces]
            self.stdout.write(json.dumps(said, ensure_ascii=False, indent=2))
            return
        for trace in traces:
            lines = _lot_lines if isinstance(trace, LotTrace) else _fill_lines
            self.stdout.write("\n".join(lines(trace)))


def _traces(venue: Venue, what: str) -> list[LotTrace | FillTrace]:
    """Return the traces of every lot with that code, else of what is or was last in that keg."""
    lots = Lot.objects.filter(venue=venue)
    keys = [
        *lots.filter(code__iexact=what).values_list("pk", flat=True),
        *lots.filter(supplier_lot_code__iexact=what).order_by("pk").values_list("pk", flat=True),
    ]
    if keys:
        found = (trace_lot(venue, key) for key in dict.fromkeys(keys))
        return [trace for trace in found if trace is not None]
    fills = Fill.objects.filter(batch__venue=venue).order_by("-filled_at", "-pk")
    fill = (
        fills.filter(keg__name__iexact=what).first()
        or fills.filter(keg__label_code__iexact=what).first()
    )
    trace = trace_fill(venue, fill.pk) if fill else None
    return [trace] if trace else []


def _lot_lines(trace: LotTrace) -> list[str]:
    venue, lot = trace.records.venue, trace.lot
    parts, unexplained = parts_of(trace)
    lines = [f"{lot.ingredient}, lot {lot.code}: {_came(lot, venue)}"]
    lines += [f"  {part.label}: {_amount(lot, part.amount, venue)}" for part in parts]
    lines += [f"  Difference not explained: {_amount(lot, unexplained, venue)}"]
    lines += [f"  Kegs reached: {len(trace.records.fills)}"]
    for line in fill_lines(trace):
        fill = line.fill
        lines.append(
            f"    keg {fill.keg}: {fill.drink}, batch {fill.batch}, {fill.state.label.lower()}"
            f", {_amount(lot, line.amount, venue)} of it"
            f"{f', stands in {fill.place}' if fill.place else ''}"
        )
        lines += [f"      {each}" for each in _poured(fill, venue)]
    return lines


def _fill_lines(trace: FillTrace) -> list[str]:
    venue, fill = trace.records.venue, trace.fill
    filled = at_moment(fill.filled_at, venue.zone)
    volume = write(fill.volume_ml, Kind.VOLUME, venue.units)
    lines = [f"Keg {fill.keg}: {fill.drink}, batch {fill.batch}, {fill.state.label.lower()}"]
    lines += [f"  filled {filled}, {volume}", *(f"  {each}" for each in _poured(fill, venue))]
    lines += [f"  Lots behind it: {len(trace.records.lots)}"]
    lines += [
        f"    {line.lot.ingredient}, lot {line.lot.code}: "
        f"{_amount(line.lot, line.amount, venue)}, {_came(line.lot, venue)}"
        for line in behind_lines(trace)
    ]
    return lines


def _came(lot: LotRow, venue: Venue) -> str:
    at = at_moment(lot.received_at, venue.zone)
    if lot.made_in_house:
        return f"made here {at}"
    supplier, code = lot.supplier or NOT_RECORDED, lot.supplier_code or NOT_RECORDED
    return f"from {supplier}, supplier's code {code}, {at}"


def _poured(fill: FillReached, venue: Venue) -> list[str]:
    return [
        f"tap {poured.tap} from {at_moment(poured.since, venue.zone)} to "
        f"{at_moment(poured.until, venue.zone) if poured.until else 'now'}"
        for poured in fill.poured
    ]


def _amount(lot: LotRow, amount: Decimal, venue: Venue) -> str:
    return write(amount, KIND_OF[lot.measure], venue.units)


def _as_json(trace: LotTrace | FillTrace) -> dict[str, Any]:
    """Amounts are decimals as text, in the unit that stands beside them."""
    if isinstance(trace, FillTrace):
        return {
            "keg": _fill_json(trace.fill),
            "lots": [
                _lot_json(line.lot) | {"in_this_keg": f"{line.amount:.3f}"}
                for line in behind_lines(trace)
            ],
        }
    parts, unexplained = parts_of(trace)
    return {
        "lot": _lot_json(trace.lot),
        "where": {part.label: f"{part.amount:f}" for part in parts},
        "not_explained": f"{unexplained:f}",
        "made_of_it": [
            _lot_json(lot) | {"of_the_lot": f"{trace.reached[Node(Sort.LOT, lot.lot_id)]:.3f}"}
            for lot in trace.lots_made
        ],
        "kegs": [
            _fill_json(line.fill) | {"of_the_lot": f"{line.amount:.3f}"}
            for line in fill_lines(trace)
        ],
    }


def _lot_json(lot: LotRow) -> dict[str, Any]:
    return {
        "ingredient": lot.ingredient,
        "lot": lot.code,
        "supplier": lot.supplier or None,
        "supplier_lot": lot.supplier_code or None,
        "document": lot.document or None,
        "made_here": lot.made_in_house,
        "received_at": lot.received_at.isoformat(),
        "received": f"{lot.received:f}",
        "left": f"{lot.amounts.left:f}",
        "unit": lot.measure,
        "status": lot.status.value,
    }


def _fill_json(fill: FillReached) -> dict[str, Any]:
    return {
        "keg": fill.keg,
        "drink": fill.drink,
        "batch": fill.batch,
        "filled_at": fill.filled_at.isoformat(),
        "volume_ml": f"{fill.volume_ml:f}",
        "state": fill.state.value,
        "stands_in": fill.place or None,
        "poured": [
            {
                "tap": poured.tap,
                "from": poured.since.isoformat(),
                "until": poured.until.isoformat() if poured.until else None,
            }
            for poured in fill.poured
        ],
    }
