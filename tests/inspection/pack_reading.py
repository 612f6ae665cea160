"""A pack as a reader of PDFs sees it (pypdf): its text, part by part, without what runs along."""

import re
from collections.abc import Iterator
from datetime import datetime
from io import BytesIO

from pypdf import PdfReader

from kegsafe.cold_chain.models import LoggedReading
from kegsafe.inspection.scope import Scope
from kegsafe.inspection.sections import SECTIONS
from kegsafe.inspection.writing import write_pack
from kegsafe.venues.models import Venue

MOMENT = r"\d{4}-\d\d-\d\d \d\d:\d\d \w+"
_RUNNING = re.compile(r"Inspection pack, .{1,400}? Page \d+ of \d+ Ledger entry \d+, [0-9a-f]{64}")
# How each part begins, in the order of the pack.
_BEGINS = {
    "fills": "Every keg filled in the period",
    "allergens": "The list of ",
    "cleaning": "Every cycle that began in the period",
    "temperature": "An excursion is worked out from the readings",
    "places": "Dashed: the limit",
}


def scope_of(venue: Venue, first, last, made_at: datetime) -> Scope:
    """Return what a pack is about; the name is mara's."""
    venue.chain.refresh_from_db()
    return Scope(venue, first, last, made_at, "mara", venue.chain)


def pdf_of(scope: Scope, paper: str = "a4") -> bytes:
    """Return a whole pack, unsigned."""
    out = BytesIO()
    write_pack(scope, SECTIONS, out, paper=paper)
    return out.getvalue()


def text_of(pdf: bytes) -> str:
    """Return all the text on one line, without heads and feet of pages."""
    pages = PdfReader(BytesIO(pdf)).pages
    return " ".join(_RUNNING.sub(" ", " ".join(page.extract_text().split())) for page in pages)


def part(text: str, begins: str, ends: str) -> str:
    """Return what stands between two sentences of the pack."""
    return text.partition(begins)[2].partition(ends)[0]


def rows_in(text: str, begins: str) -> Iterator[tuple[re.Match[str], str]]:
    """Yield each row that begins so, with all that stands up to the next one."""
    found = list(re.finditer(begins, text))
    ends = [match.start() for match in found[1:]] + [len(text)]
    for match, end in zip(found, ends, strict=True):
        yield match, text[match.start() : end]


def stays_above(place: int, limit: int) -> Iterator[tuple[int, int, bool]]:
    """Yield each stay of a place above a limit: from, until, and whether it goes on.

    Counted anew from the readings alone, one after the other: from the last good one before to
    the first good one after. Nothing of the program's own rule is used.
    """
    readings = LoggedReading.objects.filter(place=place).order_by("at_s")
    before = began = warm = None
    for at_s, centi_degc in readings.values_list("at_s", "centi_degc"):
        if centi_degc > limit:
            began = began if began is not None else (before if before is not None else at_s)
            warm = at_s
        elif began is not None:
            yield began, at_s, False
            began = None
        before = at_s
    if began is not None:
        yield began, warm, True
