"""The register: everything with what is due on it, in as many queries for five as for 5,000."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from kegsafe.equipment.models import Keg
from kegsafe.pressure import services
from kegsafe.pressure.models import Check, Item
from kegsafe.pressure.queries import item_facts, narrowed, register, sorted_by
from kegsafe.rules.pressure.due import DueState, due
from tests.builders import a_keg, a_person, a_venue
from tests.pressure.point_results import results
from tests.query_counts import queries_of

pytestmark = [pytest.mark.django_db, pytest.mark.records]

TODAY = date(2026, 6, 1)


def many(venue, count):
    """Items and kegs as a large owner has them, with a check of each; no ledger, to be quick."""
    items = Item.objects.bulk_create(
        Item(
            venue=venue,
            kind=("hose", "regulator", "monitor", "cylinder")[number % 4],
            name=f"N{number}",
            serial=f"S{number % 7}",
            label_code=f"label{number}",
            marked_on=date(2022, 1 + number % 12, 1),
            **(
                {"cylinder_rule": "us.3al", "stamped_on": date(2021 + number % 5, 6, 1)}
                if number % 4 == 3
                else {}
            ),
        )
        for number in range(count)
    )
    Check.objects.bulk_create(
        Check(
            venue=venue,
            item=item,
            check_key="look",
            label="Look",
            outcome="pass",
            checked_at=timezone.now() - timedelta(days=number % 40),
            recorded_by="mara",
        )
        for number, item in enumerate(items)
    )


def test_five_thousand_items_take_as_many_queries_as_one(venue, django_assert_num_queries):
    many(venue, 5000)
    with django_assert_num_queries(4):
        rows = register(venue, timezone.localdate())
    assert len(rows) == 5000


LISTS = (
    "",
    "?sort=name",
    "?sort=kind&page=2",
    "?q=s3&kind=hose&sort=due",
    "?state=overdue&page=3",
    "?state=asks&service=in_use&kind=cylinder&sort=name&page=2",
)


def test_five_thousand_are_sorted_narrowed_and_paged_in_as_many_queries_as_five(client, venue):
    client.force_login(a_person(venue, "owner"))
    many(venue, 5)
    few = [queries_of(client, f"/pressure/{words}") for words in LISTS]
    Check.objects.all().delete()
    Item.objects.all().delete()
    many(venue, 5000)
    assert [queries_of(client, f"/pressure/{words}") for words in LISTS] == few
    shown = client.get("/pressure/?sort=name&page=100").context["page"]
    assert (len(shown.object_list), shown.number, shown.paginator.num_pages) == (50, 100, 100)
    assert [row.name for row in shown][-1] == "N4999"


def test_the_most_urgent_comes_first_and_everything_is_in_the_list(venue):
    many(venue, 200)
    rows = register(venue, timezone.localdate())
    ordered = sorted_by(rows, "due")
    states = [list(DueState).index(row.next.state) for row in ordered]
    assert states == sorted(states)
    assert {row.owner for row in ordered} == {row.owner for row in rows}


@pytest.mark.parametrize("key", ["due", "name", "kind", "nonsense"])
def test_every_order_holds_every_row(venue, key):
    many(venue, 20)
    assert len(sorted_by(register(venue, TODAY), key)) == 20


def test_the_list_is_narrowed_by_word_kind_state_and_service(venue, by, an_item):
    many(venue, 40)
    rows = register(venue, timezone.localdate())
    assert {row.kind for row in narrowed(rows, kind="hose")} == {"hose"}
    assert {row.serial for row in narrowed(rows, query="s3")} == {"S3"}
    assert narrowed(rows, service="quarantined") == []
    assert all(row.asking for row in narrowed(rows, state="asks"))
    assert narrowed(rows, state="no such state") == []


def test_kegs_stand_in_the_register_and_scrapped_things_do_not(venue, by, an_item):
    a_keg(venue, name="K7")
    gone = an_item("hose")
    services.set_item_service(gone, service="scrapped", reason="Cracked", by=by)
    assert [(row.kind, row.name) for row in register(venue, TODAY)] == [("keg", "K7")]


def test_another_bars_equipment_is_not_in_it(venue, an_item):
    an_item("hose")
    assert register(a_venue(name="The Tin Heron"), TODAY) == []


def test_the_register_says_of_an_item_what_the_rule_says_of_it_alone(venue, by, gas):
    services.record_check(
        item=gas.regulator, check="look", results=results("regulator", "look"), by=by
    )
    today = timezone.localdate()
    of_regulator = next(
        row for row in register(venue, today) if row.owner == ("item", gas.regulator.pk)
    )
    assert of_regulator.dues == due(item_facts(Item.objects.get(pk=gas.regulator.pk)), today)


def test_a_failure_undoes_the_pass_before_it(venue, by, an_item):
    hose = an_item("hose")
    for failed in ("", "wall"):
        services.record_check(
            item=hose, check="look", results=results("hose", "look", failed=failed), by=by
        )
    (row,) = register(venue, timezone.localdate())
    look = next(each for each in row.dues if each.check == "look")
    assert look.state is DueState.NOT_KNOWN


def test_the_day_of_a_check_is_the_venues_own(venue, by, an_item):
    """Half past three in the morning UTC is still the evening before in New York."""
    hose = an_item("hose")
    at = (timezone.now() - timedelta(days=3)).replace(hour=3, minute=30)
    services.record_check(
        item=hose, check="look", results=results("hose", "look"), checked_at=at, by=by
    )
    assert item_facts(Item.objects.get()).passed == {"look": at.date() - timedelta(days=1)}


def test_a_kegs_own_figure_counts(venue, by):
    keg = a_keg(venue, capacity_ml=Decimal(19_000))
    services.set_interval(keg=keg, check="examination", months=24, basis="owner", by=by)
    found = results("keg", "examination")
    services.record_check(
        keg=keg, check="examination", results=found, competent_person="I. Vale", report="1", by=by
    )
    (row,) = register(venue, timezone.localdate())
    examination = next(each for each in row.dues if each.check == "examination")
    assert examination.state is DueState.LATER
    assert Keg.objects.get().service == "in_use"
