"""The trace for the authority: a workbook whose sheets can be sorted and filtered.

The first sheet has the fields of the rule that goes with the venue's code, in the rule's own
order and words; a field the program does not record says so. Every text is a text and nothing
else, whoever typed it.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from io import BytesIO

from openpyxl import Workbook
from openpyxl.utils import get_column_letter

from kegsafe.frame.sheet_cells import text_cell
from kegsafe.rules.moments import at_moment
from kegsafe.rules.traceability import Element, TraceabilityRule, rule_for
from kegsafe.stock.models import Lot
from kegsafe.tracing.records import LotRow, Records
from kegsafe.tracing.touched import Touched
from kegsafe.venues.models import Venue

NOT_RECORDED = "not recorded"
_UNITS = {"ml": "ml", "g": "g", "each": "piece"}

Cell = str | int | Decimal | date | datetime | None
Row = Sequence[Cell]


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet: what its columns are called, and its rows."""

    name: str
    heads: Sequence[str]
    rows: Iterable[Row]


def trace_spreadsheet(
    records: Records, *, of: str, made_at: datetime, touched: Touched | None = None
) -> bytes:
    """Return the workbook.

    of : what the trace is of, in words
    made_at : when it was made; times are those of the venue's zone, without it, so that they sort
    touched : for the trace of one keg, the gas and the cleaning behind it
    """
    book = Workbook(write_only=True)
    for sheet in _sheets(records, of, made_at, touched):
        _write(book, sheet)
    out = BytesIO()
    book.save(out)
    return out.getvalue()


def _sheets(
    records: Records, of: str, made_at: datetime, touched: Touched | None
) -> Iterator[Sheet]:
    rule = rule_for(records.venue.code_key)
    yield _received(records, rule)
    yield _made_here(records)
    yield _draws(records)
    yield _kegs(records)
    if touched is not None:
        yield _gas(records.venue, touched)
        yield _cleaning(records.venue, touched)
    yield _about(records.venue, rule, of, made_at)


def _received(records: Records, rule: TraceabilityRule | None) -> Sheet:
    """The lots bought in: first what the rule asks for, then what the bar keeps besides."""
    elements = rule.elements if rule else _WITHOUT_A_RULE
    besides = ("Our lot code", "State", "Left", "Date on the pack", "Received by")
    rows = (
        [
            *(_element(element, lot, records.venue) for element in elements),
            *(lot.code, lot.status.label, lot.amounts.left, _pack_date(lot), lot.who),
        ]
        for lot in records.lots
        if not lot.made_in_house
    )
    return Sheet("Lots received", [*(each.name for each in elements), *besides], rows)


def _element(element: Element, lot: LotRow, venue: Venue) -> Cell:
    return _FIELDS[element.field](lot, venue) or NOT_RECORDED if element.field else NOT_RECORDED


_FIELDS: dict[str, Callable[[LotRow, Venue], Cell]] = {
    "supplier_lot_code": lambda lot, _: lot.supplier_code,
    "quantity": lambda lot, _: lot.received,
    "unit": lambda lot, _: _UNITS[lot.measure],
    "description": lambda lot, _: lot.ingredient,
    "supplier": lambda lot, _: _joined(lot.supplier, lot.supplier_address, lot.supplier_contact),
    "venue": lambda _, venue: _joined(venue.name, venue.address),
    "received_on": lambda lot, venue: venue.local(lot.received_at).date(),
    "document": lambda lot, _: lot.document,
}
# For a food code that no row of shared/tracing names: what any authority would want to see.
_WITHOUT_A_RULE = tuple(
    Element(name, field, "", "house rule of this program", "", "house")
    for name, field in (
        ("Supplier", "supplier"),
        ("Food", "description"),
        ("Supplier's lot code", "supplier_lot_code"),
        ("Quantity", "quantity"),
        ("Unit of measure", "unit"),
        ("Date received", "received_on"),
        ("Document", "document"),
    )
)


def _joined(*parts: str) -> str:
    return ", ".join(" ".join(part.split()) for part in parts if part.strip())


def _pack_date(lot: LotRow) -> Cell:
    if lot.date_kind == Lot.DateKind.NONE:
        return lot.date_kind.label
    return f"{lot.date_kind.label} {lot.date_on:%Y-%m-%d}"


def _made_here(records: Records) -> Sheet:
    local = records.venue.local
    heads = ("Lot", "What", "Begun", "Made by", "Amount", "Unit", "Left", "State")
    rows = (
        (
            *(lot.code, lot.ingredient, _clock(local(lot.received_at)), lot.who, lot.received),
            *(_UNITS[lot.measure], lot.amounts.left, lot.status.label),
        )
        for lot in records.lots
        if lot.made_in_house
    )
    return Sheet("Made here", heads, rows)


def _draws(records: Records) -> Sheet:
    heads = ("When", "From", "Lot", "Amount", "Unit", "Into", "Lot or batch")
    return Sheet("Drawn", heads, _draw_rows(records))


def _draw_rows(records: Records) -> Iterator[Row]:
    for draw in records.draws:
        lot = records.lot_by_id[draw.lot_id]
        if draw.batch_id is not None:
            batch = records.batch_by_id[draw.batch_id]
            into = (batch.drink, f"batch {batch.code}")
        else:
            made = records.lot_by_id[draw.into.key]
            into = (made.ingredient, f"lot {made.code}")
        when = _clock(records.venue.local(draw.drawn_at))
        yield when, lot.ingredient, lot.code, draw.amount, _UNITS[lot.measure], *into


def _kegs(records: Records) -> Sheet:
    """One row for each time on a tap, so that the times sort; a keg never tapped has one row."""
    heads = (
        *("Keg", "Drink", "Batch", "Filled", "Volume (ml)", "State", "Since", "Reason"),
        *("Stands in", "Tap", "Poured from", "Poured until"),
    )
    return Sheet("Kegs", heads, _keg_rows(records))


def _keg_rows(records: Records) -> Iterator[Row]:
    local = records.venue.local
    for fill in records.fills:
        row = (
            *(fill.keg, fill.drink, fill.batch, _clock(local(fill.filled_at)), fill.volume_ml),
            *(fill.state.label, _clock(fill.state_at and local(fill.state_at))),
            *(fill.state_reason, fill.place if fill.is_open else "in this keg no longer"),
        )
        for poured in fill.poured:
            until = "still on tap" if poured.until is None else _clock(local(poured.until))
            yield *row, poured.tap, _clock(local(poured.since)), until
        if not fill.poured:
            yield *row, "not tapped", None, None


def _gas(venue: Venue, touched: Touched) -> Sheet:
    heads = ("Cylinder", "Gas lot", "Supplier", "Grade", "Received", "On keg from", "On keg until")
    rows: list[Row] = [
        (
            *(gas.cylinder_name, gas.lot or NOT_RECORDED, gas.supplier or NOT_RECORDED),
            *(gas.grade or NOT_RECORDED, _clock(gas.received_at and venue.local(gas.received_at))),
            _clock(venue.local(gas.reached_since)),
            _clock(venue.local(gas.reached_until)) if gas.reached_until else "still on it",
        )
        for gas in touched.gas
    ]
    if not rows:
        rows.append((f"connection {NOT_RECORDED}", *[None] * (len(heads) - 1)))
    return Sheet("Gas", heads, rows)


def _cleaning(venue: Venue, touched: Touched) -> Sheet:
    """One row for each batch of a chemical; a clean of which none is recorded has one row."""
    heads = ("What", "When", "How", "Result", "Chemical", "Batch", "Supplier of it")
    return Sheet("Cleaning", heads, _cleaning_rows(venue, touched))


def _cleaning_rows(venue: Venue, touched: Touched) -> Iterator[Row]:
    for clean in touched.cleans:
        row = (clean.piece, _clock(venue.local(clean.cleaned_at)), clean.method, clean.result)
        for batch in clean.chemicals:
            chemical = batch.chemical
            yield *row, chemical.name, batch.batch, chemical.supplier or NOT_RECORDED
        if not clean.chemicals:
            yield *row, NOT_RECORDED, None, None
    for piece in touched.uncleaned:
        yield piece, None, NOT_RECORDED, "no clean on record before this drink", None, None, None


def _about(venue: Venue, rule: TraceabilityRule | None, of: str, made_at: datetime) -> Sheet:
    """What the workbook is, what the rule is, and what is not in it: said, not left out."""
    rows: list[Row] = [
        ("Venue", _joined(venue.name, venue.address), ""),
        ("Trace of", of, ""),
        ("Made", at_moment(made_at, venue.zone), f"times are of {venue.time_zone}"),
        ("Food code of the venue", venue.code.name, venue.code.deference),
    ]
    if rule is None:
        rows.append(("Rule of traceability", NOT_RECORDED, "No row names one for this code."))
    else:
        rows += [
            ("Rule of traceability", rule.name, _source(rule)),
            ("In force", rule.in_force, rule.who),
        ]
        rows += [
            (
                f"Field: {element.name}",
                "recorded where it was entered" if element.field else "not recorded",
                _joined(element.note, _source(element)),
            )
            for element in rule.elements
        ]
    rows += [
        ("Pours", "not recorded", "When a keg was on a tap is recorded; a pour is not measured."),
        ("In the glass", "not recorded", "What is added beside the drink is not drawn from a lot."),
        ("Who decides", "", "The authority and a competent person. This is what was written down."),
    ]
    return Sheet("About", ("What", "Said", "Note"), rows)


def _source(of: TraceabilityRule | Element) -> str:
    return f"{_joined(of.source, of.section)} [{of.verified}]"


def _clock(moment: datetime | None) -> Cell:
    """A moment as a cell sorts it: to the second, of a zone that the last sheet names."""
    return None if moment is None else moment.replace(tzinfo=None, microsecond=0)


def _write(book: Workbook, sheet: Sheet) -> None:
    page = book.create_sheet(sheet.name)
    page.freeze_panes = "A2"
    for place in range(1, len(sheet.heads) + 1):
        page.column_dimensions[get_column_letter(place)].width = 24
    page.append([text_cell(page, head) for head in sheet.heads])
    count = 1
    for row in sheet.rows:
        page.append([text_cell(page, each) if isinstance(each, str) else each for each in row])
        count += 1
    page.auto_filter.ref = f"A1:{get_column_letter(len(sheet.heads))}{count}"
