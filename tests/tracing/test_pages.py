"""The pages of the trace: found by any code, whole with any name, at a fixed cost."""

from decimal import Decimal

import pytest
from django.urls import reverse

from kegsafe.batches import services as batches
from kegsafe.venues.models import Role
from tests.builders import (
    a_batch,
    a_fill,
    a_lot,
    a_person,
    a_preparation,
    a_recipe,
    a_recorder,
    a_venue,
    an_ingredient,
)
from tests.query_counts import queries_of
from tests.tracing.bar import a_traced_bar

pytestmark = pytest.mark.django_db

MARKUP = "<img src=x onerror=alert(1)>"


@pytest.fixture
def venue():
    return a_venue()


@pytest.fixture
def inspector(venue, client):
    client.force_login(a_person(venue, Role.INSPECTOR))
    return client


def _links(answer) -> set[str]:
    text = answer.content.decode()
    return {part.partition('"')[0] for part in text.split('href="')[1:]}


class TestFinding:
    @pytest.mark.parametrize("wanted", ["code", "supplier_lot_code"])
    def test_a_lot_is_found_by_its_code_and_by_its_suppliers(self, venue, inspector, wanted):
        lot = a_lot(venue, supplier_lot_code="XK-17/B")
        a_lot(venue, supplier_lot_code="YY-2")
        links = _links(inspector.get("/trace/", {"q": getattr(lot, wanted).lower()}))
        assert {each for each in links if each.startswith("/trace/lot/")} == {
            f"/trace/lot/{lot.pk}/"
        }

    def test_a_keg_is_found_by_its_name_its_label_code_and_its_batch(self, venue, inspector):
        fill = a_fill(venue)
        a_fill(venue)
        name = fill.keg.name
        for words in (name, f"keg {name}", fill.keg.label_code, f"Batch {fill.batch.code}\0"):
            links = _links(inspector.get("/trace/", {"q": words}))
            assert f"/trace/fill/{fill.pk}/" in links

    def test_the_newest_are_there_to_begin_with(self, venue, inspector):
        fill = a_fill(venue)
        links = _links(inspector.get("/trace/"))
        assert f"/trace/fill/{fill.pk}/" in links

    def test_an_empty_bar_says_what_to_do(self, inspector):
        assert "Nothing to trace yet" in inspector.get("/trace/").content.decode()

    def test_what_fits_nothing_says_so_and_keeps_what_was_typed(self, venue, inspector):
        a_fill(venue)
        page = inspector.get("/trace/", {"q": MARKUP}).content.decode()
        assert "Nothing on record fits that" in page
        assert 'value="&lt;img src=x onerror=alert(1)&gt;"' in page

    def test_another_bars_codes_find_nothing(self, inspector):
        lot = a_lot(a_venue(), supplier_lot_code="ELSEWHERE-1")
        for words in ("ELSEWHERE-1", lot.code):
            assert (
                "Nothing on record fits that"
                in inspector.get("/trace/", {"q": words}).content.decode()
            )


class TestTheTraceOfALot:
    def test_it_says_how_many_kegs_and_where_all_of_it_is(self, venue, inspector):
        bar = a_traced_bar(venue)
        page = " ".join(inspector.get(f"/trace/lot/{bar.juice.pk}/").content.decode().split())
        assert "It reached 2 kegs:" in page
        assert "1 in the keg" in page
        assert "1 emptied" in page
        assert "Difference not explained" in page
        assert reverse("trace-lot-diagram", args=[bar.juice.pk]) in page

    def test_a_lot_nobody_drew_from_says_so(self, venue, inspector):
        page = inspector.get(f"/trace/lot/{a_lot(venue).pk}/").content.decode()
        assert "It reached no keg, as far as is recorded." in page

    def test_names_are_shown_and_never_run(self, venue, inspector):
        bar = a_traced_bar(venue, name=MARKUP, code=MARKUP, document=MARKUP)
        for address in (f"/trace/lot/{bar.juice.pk}/", f"/trace/fill/{bar.on_tap.pk}/", "/trace/"):
            page = inspector.get(address).content.decode()
            assert "&lt;img src=x" in page
            assert "<img src=x" not in page


class TestTheTraceOfAKeg:
    def test_it_names_lots_suppliers_and_what_is_not_recorded(self, venue, inspector):
        bar = a_traced_bar(venue)
        page = inspector.get(f"/trace/fill/{bar.on_tap.pk}/").content.decode()
        assert "Harbour Wholesale" in page
        assert "J-14" in page
        assert "No gas connection to this keg is on record" in page

    def test_what_goes_into_the_glass_is_named_as_not_traced(self, venue, inspector):
        soda = an_ingredient(venue, name="Soda water", category="soft_drink")
        recipe = a_recipe(venue)
        batches.add_recipe_item(
            recipe=recipe,
            ingredient=soda,
            where="glass",
            amount=Decimal(60),
            amount_typed="60 ml",
            by=a_recorder(venue),
        )
        fill = a_fill(venue, batch=a_batch(venue, recipe=recipe))
        page = inspector.get(f"/trace/fill/{fill.pk}/").content.decode()
        assert "Soda water" in page
        assert "Which lot of it went into a glass is not recorded." in page


class TestFiles:
    def test_each_is_handed_out_as_what_it_is(self, venue, inspector):
        bar = a_traced_bar(venue)
        for start in (f"/trace/lot/{bar.juice.pk}/", f"/trace/fill/{bar.on_tap.pk}/"):
            kinds = {
                name: inspector.get(start + name)["Content-Type"]
                for name in ("diagram.svg", "spreadsheet.xlsx", "events.jsonld")
            }
            assert kinds == {
                "diagram.svg": "image/svg+xml",
                "spreadsheet.xlsx": "application/vnd.openxmlformats-officedocument"
                ".spreadsheetml.sheet",
                "events.jsonld": "application/ld+json",
            }

    def test_a_drawing_may_load_and_run_nothing(self, venue, inspector):
        answer = inspector.get(f"/trace/lot/{a_lot(venue).pk}/diagram.svg")
        assert "default-src 'none'" in answer["Content-Security-Policy"]


def test_the_pages_cost_the_same_with_a_short_and_a_long_trace(venue, inspector):
    bar = a_traced_bar(venue)
    pages = ("/trace/", f"/trace/lot/{bar.juice.pk}/", f"/trace/fill/{bar.on_tap.pk}/")
    short = [queries_of(inspector, page) for page in pages]
    lot = bar.cordial
    for _ in range(3):
        lot = a_preparation(venue, lot, a_lot(venue)).lot
        a_fill(venue, batch=a_batch(venue, lot))
    assert [queries_of(inspector, page) for page in pages] == short
    assert max(short) <= 16
