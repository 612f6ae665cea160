"""What was passed last is looked up, not worked out from every check ever made."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from kegsafe.pressure.models import Check
from kegsafe.pressure.queries import item_facts, keg_facts, register
from tests.builders import a_keg

pytestmark = [pytest.mark.django_db, pytest.mark.records]

NOW = timezone.now()


def checks(venue, *outcomes, key="look", **thing):
    """Record checks a day apart, the last of them yesterday; no ledger, to be quick."""
    Check.objects.bulk_create(
        Check(
            venue=venue,
            check_key=key,
            label="Look",
            outcome=outcome,
            checked_at=NOW - timedelta(days=len(outcomes) - number),
            recorded_by="mara",
            **thing,
        )
        for number, outcome in enumerate(outcomes)
    )


@pytest.mark.parametrize(
    ("outcomes", "days_ago"),
    [
        (("pass",), 1),
        (("fail", "pass"), 1),
        (("pass", "pass", "pass"), 1),
        (("pass", "fail"), None),
        (("pass", "fail", "pass", "fail"), None),
        (("fail",), None),
        ((), None),
    ],
)
def test_the_newest_check_alone_decides(venue, an_item, outcomes, days_ago):
    hose, keg = an_item("hose"), a_keg(venue)
    checks(venue, *outcomes, item=hose)
    checks(venue, *outcomes, key="leak", keg=keg)
    day = days_ago and venue.local(NOW - timedelta(days=days_ago)).date()
    assert item_facts(hose).passed == ({"look": day} if day else {})
    assert keg_facts(keg).passed == ({"leak": day} if day else {})


def test_of_two_at_one_moment_the_passed_one_counts(venue, an_item):
    hose = an_item("hose")
    for outcome in ("pass", "fail"):
        checks(venue, outcome, item=hose)
    assert set(item_facts(hose).passed) == {"look"}


def test_one_check_says_nothing_of_another_or_of_another_thing(venue, an_item):
    hose, regulator = an_item("hose"), an_item("regulator")
    checks(venue, "pass", "fail", key="yearly", item=regulator)
    checks(venue, "pass", item=regulator)
    assert set(item_facts(regulator).passed) == {"look"}
    assert item_facts(hose).passed == {}


@pytest.mark.skipif(connection.vendor != "sqlite", reason="its planner's words are read")
def test_no_query_walks_through_all_checks(venue, an_item):
    hose = an_item("hose")
    checks(venue, *["pass", "fail"] * 200, item=hose)
    a_keg(venue)
    with CaptureQueriesContext(connection) as made:
        register(venue, timezone.localdate())
    [sql] = [each["sql"] for each in made if "pressure_check" in each["sql"]]
    with connection.cursor() as cursor:
        cursor.execute(f"EXPLAIN QUERY PLAN {sql}")
        steps = [row[3] for row in cursor.fetchall()]
    of_checks = [step for step in steps if "pressure_check" in step or " U0" in step]
    assert any("check_key=?" in step for step in of_checks)
    assert not [step for step in of_checks if "pressure_check" in step and "SCAN" in step]
    assert not [step for step in of_checks if "(venue_id=?)" in step and "pressure_check" in step]
