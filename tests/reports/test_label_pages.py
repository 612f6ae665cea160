"""Labels from the record: what is printed is what the pour check says, for the venue alone."""

from datetime import timedelta
from decimal import Decimal

import pytest
import time_machine
from django.urls import reverse

from kegsafe.batches.models import Fill
from kegsafe.stock.models import IngredientAllergen
from kegsafe.venues.models import Role, Units
from tests.builders import a_keg, a_person, a_venue
from tests.reports.bar import (
    MADE_AT,
    NOW,
    a_fill,
    a_lot,
    a_preparation,
    a_shelf_life,
    an_ingredient,
)
from tests.reports.facts import reader, rendered, scanned, words_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _at_seven_in_the_evening():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def venue():
    return a_venue(name="The Copper Finch")


@pytest.fixture
def juice(venue):
    """Apple juice pressed on the day, which its rule and the code both give a date."""
    pressed = an_ingredient(
        venue, "Apple juice", category="fruit_juice", made_in_house=True, contains=("sulphite",)
    )
    a_shelf_life(pressed, 3, held_at_or_below_degc=Decimal(3))
    return a_preparation(pressed, "P-1")


@pytest.fixture
def fill(venue, juice):
    orgeat = a_lot(an_ingredient(venue, "Orgeat", contains=("almond",)), "S-1")
    keg = a_keg(venue, name="K7")
    return a_fill(venue, keg=keg, lots=(juice, orgeat))


@pytest.fixture
def staff(client, venue):
    client.force_login(a_person(venue))
    return client


def _label(client, fill, **asked):
    return client.get(reverse("fill-label", args=[fill.pk]), asked)


# What is printed


def test_a_label_is_the_record_of_the_keg(staff, fill):
    words = words_of(_label(staff, fill).content)
    for said in (
        "The Copper Finch",
        "Orchard Sour",
        "Keg K7",
        "Contains Almond (tree nut)",
        "Batch: 260407-A",
        f"Lot: 260407-A/{fill.pk}",
        "Filled: Tue 7 Apr 2026, 18:00",
        "Ready from: Wed 8 Apr 2026, 18:00",
        "Alcohol: 8.5 % vol",
        f"or type {fill.keg.label_code}",
        "Printed Tue 7 Apr 2026, 19:00",
    ):
        assert said in words


def test_the_use_by_is_the_one_of_the_pour_check(staff, fill):
    """Pressed on Tuesday and kept three days, that day being day 1: gone after Thursday."""
    words = words_of(_label(staff, fill).content)
    assert "USE BY Thu 9 Apr 2026, 23:59" in words
    assert "house rule, by Mara Quill" in words


def test_a_drink_that_cannot_be_dated_says_so_in_the_place_of_the_date(staff, venue):
    """Yoghurt that is exempt from the code's day count needs its maker's date or a rule."""
    undated = a_lot(an_ingredient(venue, "Yoghurt", category="dairy", date_mark_exempt=True), "S-9")
    a_fill(venue, drink="Old Sour", lots=(undated,), keg=a_keg(venue, name="K9"))
    words = words_of(_label(staff, Fill.objects.get()).content)
    assert "USE BY No date Ask the manager" in words
    assert "Cannot be dated until" in words


@pytest.mark.parametrize(
    ("units", "written"), [(Units.US, "37.4 °F (3 °C)"), (Units.METRIC, "3 °C (37.4 °F)")]
)
def test_the_strictest_temperature_is_printed_in_both_systems(client, units, written):
    """The recipe asks for 3 °C, the code for 5 °C."""
    venue = a_venue(units=units)
    client.force_login(a_person(venue))
    fill = a_fill(venue, hold_at_or_below_degc=Decimal(3))
    assert f"Hold at or below: {written}" in words_of(_label(client, fill).content)


def test_a_lot_that_is_held_colder_than_the_drink_has_its_say(staff, fill):
    """The recipe asks for 4 °C, but the juice keeps its three days at 3 °C or less."""
    assert "Hold at or below: 37.4 °F (3 °C)" in words_of(_label(staff, fill).content)


def test_the_limit_of_the_code_is_printed_where_the_recipe_has_none(staff, venue):
    """FDA Food Code 2022, 3-501.16(A)(2): 5 °C (41 °F) or less, for a drink that needs it."""
    fill = a_fill(venue, hold_at_or_below_degc=None)
    assert "Hold at or below: 41 °F (5 °C)" in words_of(_label(staff, fill).content)


def test_allergens_that_nobody_knows_are_printed_as_not_known(staff, venue):
    bitters = a_lot(an_ingredient(venue, "House bitters", allergen_list_basis=""), "S-2")
    fill = a_fill(venue, lots=(bitters,))
    assert "Allergens not known of House bitters" in words_of(_label(staff, fill).content)


def test_what_the_last_drink_left_in_the_keg_is_printed_as_may_contain(staff, venue):
    fill = a_fill(venue)
    fill.use.carried_over = ["milk"]
    fill.use.save()
    assert "May contain Milk" in words_of(_label(staff, fill).content)


def test_a_keg_on_hold_says_so_above_all(staff, venue):
    fill = a_fill(venue, state="on_hold", state_reason="smells of vinegar")
    assert words_of(_label(staff, fill).content).startswith("ON HOLD: smells of vinegar.")


def test_a_keg_past_its_date_says_so_above_all(client, venue, fill):
    with time_machine.travel(MADE_AT + timedelta(days=3), tick=False):
        client.force_login(a_person(venue))
        words = words_of(_label(client, fill).content)
    assert words.startswith("PAST ITS DATE: do not pour.")


def test_the_code_leads_to_the_pour_check_of_the_keg(staff, fill):
    [page] = rendered(_label(staff, fill).content)
    path = reverse("pour-check", args=[fill.keg.label_code])
    assert scanned(page) == [f"http://testserver{path}"]


def test_a_recipe_named_like_markup_prints_its_name(staff, venue):
    fill = a_fill(venue, drink='<img src="/etc/passwd"/>')
    pdf = _label(staff, fill).content
    assert '<img src="/etc/passwd"/>' in words_of(pdf)
    assert not list(reader(pdf).pages[0].images)


# As a file


def test_a_label_opens_in_the_browser_under_a_name_that_tells_it(staff, fill):
    answer = _label(staff, fill, stock="roll-62")
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == (
        'inline; filename="label-keg-k7-orchard-sour-roll-62.pdf"'
    )


def test_no_old_label_is_shown_from_a_cache(staff, fill):
    assert set(_label(staff, fill)["Cache-Control"].split(", ")) == {"private", "no-cache"}


def test_the_stock_asked_for_is_remembered(staff, fill):
    first = reader(_label(staff, fill, stock="roll-62").content).pages[0].mediabox
    again = reader(_label(staff, fill).content).pages[0].mediabox
    usual = reader(_label(staff, fill, stock="roll-100x150").content).pages[0].mediabox
    assert first == again != usual


@pytest.mark.parametrize("stock", ["", "roll-63", "../etc", "ROLL-62"])
def test_a_stock_nobody_knows_is_not_found(staff, fill, stock):
    assert _label(staff, fill, stock=stock).status_code == 404


def test_a_keg_that_holds_the_drink_no_more_gets_no_label(staff, fill):
    fill.state, fill.state_reason = Fill.State.EMPTIED, "poured out"
    fill.save()
    answer = _label(staff, fill)
    assert answer.status_code == 302
    assert answer["Location"] == reverse("labels")


# Who


@pytest.mark.parametrize("role", [Role.STAFF, Role.MANAGER, Role.OWNER, Role.INSPECTOR])
def test_every_role_may_print(client, venue, fill, role):
    client.force_login(a_person(venue, role))
    assert _label(client, fill).status_code == 200


def test_another_venues_people_find_no_label(client, fill):
    client.force_login(a_person(a_venue(name="The Other Bar"), Role.OWNER))
    assert _label(client, fill).status_code == 404


def test_nobody_prints_signed_out(client, fill):
    assert _label(client, fill).status_code == 302


# A lot's label


def _lot_label(client, lot, **asked):
    return client.get(reverse("lot-label", args=[lot.pk]), asked)


def test_a_container_in_the_fridge_says_what_it_holds(staff, juice):
    words = words_of(_lot_label(staff, juice).content)
    for said in (
        "Apple juice",
        "Lot P-1",
        "Made: Tue 7 Apr 2026, 17:00",
        "USE BY Thu 9 Apr 2026, 23:59",
        "Hold at or below: 37.4 °F (3 °C)",
        "Alcohol: not recorded",
    ):
        assert said in words


def test_a_lot_behind_a_preparation_has_its_say_in_date_and_allergens(staff, venue, juice):
    milk = an_ingredient(venue, "Whole milk", category="dairy", contains=("milk",))
    punch = an_ingredient(venue, "Milk punch base", category="dairy", made_in_house=True)
    a_shelf_life(punch, 30)
    carton = a_lot(milk, "S-3", date_kind="use_by", date_on=(MADE_AT + timedelta(days=1)).date())
    clarified = a_preparation(punch, "P-2", carton, juice)
    outer = an_ingredient(venue, "Punch syrup", category="dairy", made_in_house=True)
    a_shelf_life(outer, 30)
    words = words_of(_lot_label(staff, a_preparation(outer, "P-3", clarified)).content)
    assert "USE BY Wed 8 Apr 2026, 23:59" in words
    assert "Contains Milk" in words


def test_a_lot_with_a_part_that_cannot_be_dated_has_no_date(staff, venue):
    unknown = a_lot(an_ingredient(venue, "Yoghurt", category="dairy", date_mark_exempt=True), "S-4")
    mixed = an_ingredient(venue, "Lassi base", category="dairy", made_in_house=True)
    a_shelf_life(mixed, 2)
    words = words_of(_lot_label(staff, a_preparation(mixed, "P-4", unknown)).content)
    assert "USE BY No date Ask the manager" in words


def test_an_opened_pack_says_when_it_was_opened(staff, venue):
    pack = a_lot(an_ingredient(venue, "Vermouth"), "S-5")
    words = words_of(_lot_label(staff, pack).content)
    assert "Received: Tue 7 Apr 2026, 17:00" in words
    assert "Opened: Tue 7 Apr 2026, 17:00" in words


def test_a_lot_on_hold_says_so_above_all(staff, juice):
    juice.status, juice.status_reason = "on_hold", "cloudy"
    juice.save()
    assert words_of(_lot_label(staff, juice).content).startswith("ON HOLD: cloudy.")


def test_a_lot_whose_allergens_nobody_stated_says_not_known(staff, juice):
    IngredientAllergen.objects.filter(ingredient=juice.ingredient).delete()
    juice.ingredient.made_in_house, juice.ingredient.allergen_list_basis = False, ""
    juice.ingredient.save()
    assert "Allergens not known of Apple juice" in words_of(_lot_label(staff, juice).content)


@pytest.mark.parametrize("changes", [{"amount_left": 0}, {"status": "discarded"}])
def test_what_is_used_up_or_discarded_gets_no_label(staff, juice, changes):
    type(juice).objects.filter(pk=juice.pk).update(status_reason="gone", **changes)
    assert _lot_label(staff, juice).status_code == 404


def test_another_venues_people_find_no_lot(client, juice):
    client.force_login(a_person(a_venue(name="The Other Bar"), Role.OWNER))
    assert _lot_label(client, juice).status_code == 404


# Several on one sheet


def test_the_page_lists_the_kegs_that_hold_a_drink(staff, venue, fill):
    a_keg(venue, name="EMPTY")
    page = staff.get(reverse("labels")).content.decode()
    assert "Keg K7: Orchard Sour, use by Thu 9 Apr 2026, 23:59" in page
    assert "EMPTY" not in page


def test_ticked_kegs_come_on_one_sheet(staff, venue, fill):
    other = a_fill(venue, drink="Harbour Fizz", batch_code="260407-B")
    asked = {"fill": [fill.pk, other.pk], "stock": "sheet-a4", "first": "3"}
    answer = staff.get(reverse("labels"), asked)
    assert answer["Content-Disposition"] == 'inline; filename="labels-sheet-a4.pdf"'
    assert len(reader(answer.content).pages) == 1
    assert "Orchard Sour" in words_of(answer.content)
    assert "Harbour Fizz" in words_of(answer.content)


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"stock": "sheet-a4"}, "Tick at least one keg."),
        ({"fill": ["999999"], "stock": "sheet-a4"}, "holds that drink no more"),
        ({"fill": ["x"], "stock": "sheet-a4"}, "holds that drink no more"),
        ({"stock": "sheet-a4", "first": "9"}, "9 is no place on the sheet. Write 1 to 8"),
        ({"stock": "sheet-a4", "first": "two"}, "no whole number"),
        ({"stock": "roll-63"}, "not on the list"),
    ],
)
def test_a_mistyped_choice_is_answered_at_its_field(staff, fill, asked, said):
    answer = staff.get(reverse("labels"), asked)
    assert answer["Content-Type"].startswith("text/html")
    assert said in answer.content.decode()


def test_another_venues_keg_cannot_be_ticked(client, fill):
    other = a_venue(name="The Other Bar")
    client.force_login(a_person(other))
    a_fill(other, drink="Own Drink")
    answer = client.get(reverse("labels"), {"fill": [fill.pk], "stock": "sheet-a4"})
    assert answer["Content-Type"].startswith("text/html")


def test_a_sheet_of_many_costs_no_more_queries_than_of_one(
    staff, venue, fill, django_assert_num_queries, django_assert_max_num_queries
):
    address = reverse("labels")
    one = {"fill": [fill.pk], "stock": "sheet-a4"}
    staff.get(address, one)
    with django_assert_max_num_queries(12) as counted:
        staff.get(address, one)
    others = [a_fill(venue, drink=f"Drink {n}", batch_code=f"B{n}") for n in range(4)]
    with django_assert_num_queries(len(counted.captured_queries)):
        staff.get(address, {**one, "fill": [fill.pk, *(each.pk for each in others)]})


def test_the_kegs_to_label_are_listed_as_they_are_counted(staff, venue, fill):
    for name in ("K10", "K9"):
        keg = a_keg(venue, name=name)
        a_fill(venue, keg=keg, drink=f"Sour {name}", batch_code=f"260407-{name}")
    text = staff.get(reverse("labels")).content.decode()
    places = [text.index(f"Keg {name}:") for name in ("K7", "K9", "K10")]
    assert places == sorted(places)
