"""A pack and the record it was made from say the same, compared both ways by a reader of PDFs."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import pytest
from django.db import transaction
from django.utils import timezone

from kegsafe.batches.models import Fill
from kegsafe.benchmarks.year_of_a_bar import Size, YearOfABar
from kegsafe.cleaning.models import Cycle
from kegsafe.inspection.scope import Scope
from kegsafe.venues.models import Venue
from tests.inspection.pack_reading import (
    MOMENT,
    part,
    pdf_of,
    rows_in,
    scope_of,
    stays_above,
    text_of,
)
from tests.laid_demo import laid_demo

pytestmark = pytest.mark.django_db

# The chill limit of the model code: 5 degC, FDA Food Code 3-501.16(A)(2). [second-hand]
LIMIT = 500


@dataclass(frozen=True)
class Read:
    """A pack that was read: the scope it was made from, and its text."""

    scope: Scope
    text: str

    @property
    def fills(self) -> str:
        return part(self.text, "Every keg filled in the period", "Allergens of what is on tap The")

    @property
    def shown_fills(self) -> list[str]:
        """Return number, moment and keg of each row of the fills."""
        kegs = "|".join(map(re.escape, self.scope.venue.kegs.values_list("name", flat=True)))
        begins = rf"\d+ {MOMENT} (?:{kegs}) (?=\w)"
        return [match[0].strip() for match, _ in rows_in(self.fills, begins)]

    @property
    def cleaning(self) -> str:
        return part(self.text, "Every cycle that began in the period", "Cleans noted without")

    @property
    def excursions(self) -> str:
        place = self.scope.cold[0].place
        kind = f"{place.name} {place.get_kind_display()},"
        return part(self.text, "Every excursion", kind)


def _laid_year() -> Scope:
    bar = YearOfABar(date(2025, 11, 1), Size(days=365))
    return scope_of(bar.venue, bar.first, bar.last, bar.at(365, 12))


def _demo_month() -> Scope:
    venue = Venue.objects.order_by("pk").first()
    now = timezone.now()
    today = venue.local(now).date()
    return scope_of(venue, today - timedelta(days=29), today, now)


@pytest.fixture(scope="module", params=["the demo's month", "a generated year"])
def read(request, django_db_setup, django_db_blocker) -> Iterator[Read]:
    with django_db_blocker.unblock():
        if request.param == "the demo's month":
            with laid_demo(timezone.now()):
                scope = _demo_month()
                yield Read(scope, text_of(pdf_of(scope)))
        else:
            with transaction.atomic():
                scope = _laid_year()
                yield Read(scope, text_of(pdf_of(scope, "letter")))
                transaction.set_rollback(True)


def test_every_fill_is_in_the_pack_and_no_other(read):
    scope = read.scope
    fills = Fill.objects.filter(
        batch__venue=scope.venue, filled_at__gte=scope.from_at, filled_at__lt=scope.until_at
    )
    on_record = {
        f"{fill.pk} {scope.short(fill.filled_at)} {fill.keg.name}"
        for fill in fills.select_related("keg")
    }
    assert len(on_record) > 10
    assert sorted(read.shown_fills) == sorted(on_record)


def test_each_fill_shows_its_use_by_and_what_it_declares(read):
    scope = read.scope
    rows = {
        int(match[1]): row for match, row in rows_in(read.fills, rf"(\d+) {MOMENT} (?=K\d+|\d)")
    }
    for fill in Fill.objects.filter(pk__in=rows):
        date_shown = scope.short(fill.use_by_at) if fill.use_by_at else "no date could be given"
        assert date_shown in rows[fill.pk]
        assert fill.declaration["statement"] in rows[fill.pk]


def test_every_failed_clean_is_in_the_pack_and_no_other(read):
    scope = read.scope
    cycles = Cycle.objects.filter(
        venue=scope.venue, started_at__gte=scope.from_at, started_at__lt=scope.until_at
    )
    results = {"Complete": set(), "Failed": set(), "Incomplete": set(), "Given up": set()}
    begins = rf"(\d+) {MOMENT} (?:{MOMENT}|goes on) "
    for match, row in rows_in(read.cleaning, begins):
        [result] = re.findall(r"\(version \d+\) (Complete|Failed|Incomplete|Given up|Goes on)", row)
        results.setdefault(result, set()).add(int(match[1]))
    failed = set(cycles.filter(result=Cycle.Result.FAILED).values_list("pk", flat=True))
    assert failed
    assert results["Failed"] == failed
    assert set().union(*results.values()) == set(cycles.values_list("pk", flat=True))


def test_each_failed_clean_says_why_and_what_was_done(read):
    scope = read.scope
    begins = rf"(\d+) {MOMENT} (?:{MOMENT}|goes on) "
    rows = {int(match[1]): row for match, row in rows_in(read.cleaning, begins)}
    failed = Cycle.objects.filter(venue=scope.venue, pk__in=rows, result=Cycle.Result.FAILED)
    for cycle in failed.prefetch_related("corrective_actions"):
        assert "Why it does not count: " in rows[cycle.pk]
        done = [action.done for action in cycle.corrective_actions.all()] or ["none on record"]
        assert all(each in rows[cycle.pk] for each in done)


def test_every_excursion_is_in_the_pack_and_no_other(read):
    scope = read.scope
    counted = [
        _excursion(scope, standing.place.name, *stay)
        for standing in scope.cold
        if standing.place.is_chilled
        for stay in stays_above(standing.place.pk, LIMIT)
    ]
    names = "|".join(re.escape(standing.place.name) for standing in scope.cold)
    begins = rf"\d+ ((?:{names}) {MOMENT} (?:{MOMENT}|goes on)) "
    shown = [match[1] for match, _ in rows_in(read.excursions, begins)]
    assert counted
    assert sorted(shown) == sorted(counted)


def _excursion(scope: Scope, name: str, from_s: int, until_s: int, goes_on: bool) -> str:
    begins, ends = (datetime.fromtimestamp(at, scope.zone) for at in (from_s, until_s))
    return f"{name} {scope.short(begins)} {'goes on' if goes_on else scope.short(ends)}"


def test_it_names_the_head_of_the_ledger_and_counts_its_rows(read):
    chain = read.scope.chain
    assert f"entry {chain.head_sequence}, {chain.head_hash}" in read.text
    counted = re.search(r"Fills and use-by dates fills\.csv (\d+)", read.text)
    assert int(counted[1]) == len(read.shown_fills)


def test_it_cautions_and_defers(read):
    assert "The local code, the authority and a competent person decide." in read.text
    assert read.scope.venue.code.deference in read.text
    assert "approved by kegsafe" not in read.text
