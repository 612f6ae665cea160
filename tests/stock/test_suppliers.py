"""Suppliers are added, amended and taken out of use; none is ever lost."""

import pytest
from django.urls import reverse

from kegsafe.ledger.queries import history
from kegsafe.ledger.services import last_sequence
from kegsafe.stock.models import Supplier
from kegsafe.venues.models import Role
from tests.builders import a_supplier, a_venue


@pytest.fixture
def manager(signed_in):
    return signed_in(Role.MANAGER)


def test_a_supplier_is_added_on_the_page(manager):
    manager.post(reverse("supplier-add"), {"name": " Old Quay Wines ", "contact": "555 0100"})
    supplier = Supplier.objects.get()
    assert (supplier.name, supplier.contact, supplier.is_active) == (
        "Old Quay Wines",
        "555 0100",
        True,
    )


def test_a_second_supplier_of_a_name_is_refused_in_words(manager, venue):
    a_supplier(venue, name="Old Quay Wines")
    answer = manager.post(reverse("supplier-add"), {"name": "Old Quay Wines"})
    assert "There is already a supplier of this name." in str(answer.context["form"].errors)


def test_another_bar_may_have_a_supplier_of_the_same_name(manager, venue):
    a_supplier(a_venue(name="The Other Place"), name="Old Quay Wines")
    manager.post(reverse("supplier-add"), {"name": "Old Quay Wines"})
    assert Supplier.objects.filter(venue=venue).count() == 1


def test_a_supplier_is_taken_out_of_use_with_a_reason(manager, venue):
    supplier = a_supplier(venue, name="Old Quay Wines")
    manager.post(
        reverse("supplier-amend", args=[supplier.pk]),
        {"name": "Old Quay Wines", "reason": "Closed", "seen": last_sequence(supplier)},
    )
    supplier.refresh_from_db()
    assert not supplier.is_active
    assert history(supplier)[0].reason == "Closed"


def test_suppliers_are_found_by_part_of_their_name(manager, venue):
    for name in ("Old Quay Wines", "Harbour Fruit"):
        a_supplier(venue, name=name)
    page = manager.get(reverse("suppliers"), {"q": "quay"}).content.decode()
    assert "Old Quay Wines" in page
    assert "Harbour Fruit" not in page
