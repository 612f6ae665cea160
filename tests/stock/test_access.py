"""Who may open and send which page of the stock room, and what a page costs."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from kegsafe.stock import services
from kegsafe.stock.importing.delivery_file import sample
from kegsafe.venues.models import Role
from tests.builders import a_lot, a_person, a_supplier, a_venue, an_ingredient
from tests.query_counts import queries_of

STAFF, MANAGER, INSPECTOR = Role.STAFF, Role.MANAGER, Role.INSPECTOR

ACTS = [
    ("lot-open", STAFF),
    ("lot-hold", STAFF),
    ("lot-freeze", STAFF),
    ("lot-thaw", STAFF),
    ("lot-release", MANAGER),
    ("lot-discard", MANAGER),
    ("lot-reject", MANAGER),
    ("lot-amend", MANAGER),
    ("delivery-add", STAFF),
    ("delivery-amend", MANAGER),
    ("delivery-import", MANAGER),
    ("delivery-file", MANAGER),
    ("ingredient-add", MANAGER),
    ("ingredient-amend", MANAGER),
    ("catalogue", MANAGER),
    ("shelf-life-add", MANAGER),
    ("shelf-life-withdraw", MANAGER),
    ("assessment-add", MANAGER),
    ("supplier-add", MANAGER),
    ("supplier-amend", MANAGER),
]
LOOKS_AT_ONE = ["lot", "delivery", "ingredient"]
LOOKS = ["lots", "deliveries", "ingredients", "suppliers", *LOOKS_AT_ONE]
ABOUT_NOTHING_YET = {
    "delivery-add",
    "delivery-import",
    "ingredient-add",
    "catalogue",
    "supplier-add",
}
ACTS_ON_ONE = [name for name, _ in ACTS if name not in ABOUT_NOTHING_YET]


@pytest.fixture
def url_of(venue, by):
    """Return the address of a page about something this bar has."""
    lot = a_lot(venue)
    rule = services.add_shelf_life(
        ingredient=lot.ingredient, after="opened", days=3, basis="maker_label", by=by
    )
    kept = services.keep_file(venue=venue, name="a.csv", content=sample().encode(), by=by)
    keys = {
        "lot": lot.pk,
        "delivery": lot.delivery_id,
        "delivery-amend": lot.delivery_id,
        "delivery-file": kept.pk,
        "shelf-life-withdraw": rule.pk,
        "supplier-amend": lot.delivery.supplier_id,
        **dict.fromkeys([name for name, _ in ACTS if name.startswith("lot-")], lot.pk),
        **dict.fromkeys(
            ["ingredient", "ingredient-amend", "shelf-life-add", "assessment-add"],
            lot.ingredient_id,
        ),
    }
    return lambda name: reverse(name, args=[keys[name]] if name in keys else [])


@pytest.mark.parametrize("role", [STAFF, MANAGER, INSPECTOR])
@pytest.mark.parametrize(("name", "least"), ACTS)
def test_a_form_is_open_to_those_who_may_send_it(signed_in, url_of, name, least, role):
    may = role == MANAGER or (role == STAFF and least == STAFF)
    for method in ("get", "post"):
        answer = getattr(signed_in(role), method)(url_of(name))
        assert (answer.status_code == 403) is not may


@pytest.mark.parametrize("name", LOOKS)
def test_everybody_reads_the_stock_and_nobody_posts_to_a_page_that_only_shows(
    signed_in, url_of, name
):
    for role in (STAFF, MANAGER, INSPECTOR):
        client = signed_in(role)
        assert client.get(url_of(name)).status_code == 200
        assert client.post(url_of(name)).status_code == 403


@pytest.mark.parametrize("name", [*LOOKS_AT_ONE, *ACTS_ON_ONE])
def test_what_belongs_to_another_bar_is_not_there(url_of, name, client):
    url = url_of(name)
    client.force_login(a_person(a_venue(name="The Other Place"), MANAGER))
    assert client.get(url).status_code == 404
    if name in ACTS_ON_ONE:
        assert client.post(url).status_code == 404


@pytest.fixture
def manager(signed_in):
    return signed_in(MANAGER)


@pytest.mark.parametrize("name", ["lots", "deliveries", "ingredients", "suppliers"])
def test_a_list_costs_the_same_for_5_rows_and_for_200(venue, manager, name):
    many(venue, 5)
    few = queries_of(manager, reverse(name))
    many(venue, 195)
    assert queries_of(manager, reverse(name)) == few <= 12


def test_every_lot_costs_the_same_for_5_rows_and_for_200(venue, manager):
    url = reverse("lots") + "?stand=all"
    many(venue, 5)
    few = queries_of(manager, url)
    many(venue, 195)
    assert queries_of(manager, url) == few


def test_pages_of_one_thing_cost_the_same_however_much_belongs_to_it(venue, manager, by):
    gin = an_ingredient(venue, name="Gin")
    supplier = a_supplier(venue)
    lot = a_lot(venue, ingredient=gin, supplier=supplier, amount=Decimal(100_000))
    urls = [gin.get_absolute_url(), lot.get_absolute_url(), lot.delivery.get_absolute_url()]
    few = [queries_of(manager, url) for url in urls]
    lines = [services.NewLot(ingredient=gin, amount=Decimal(1), amount_typed="1 ml")] * 60
    services.receive_lots(delivery=lot.delivery, lots=lines, by=by)
    for _ in range(10):
        services.draw_from_lot(lot=lot, amount=Decimal(1), drawn_at=timezone.now(), by=by)
    assert [queries_of(manager, url) for url in urls] == few


def many(venue, number: int) -> None:
    """Add so many suppliers, ingredients, deliveries and lots."""
    for _ in range(number):
        a_lot(venue, use_by=timezone.localdate() + timedelta(days=30))
