"""A venue's own limits: stricter at will, looser only with the authority's approval on file."""

from datetime import date
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from kegsafe.ledger.queries import history
from kegsafe.stock.facts import house
from kegsafe.venues import services
from kegsafe.venues.models import LocalLimit
from kegsafe.venues.queries import limit_rows
from tests.builders import a_person, a_recorder, a_venue

pytestmark = pytest.mark.django_db
COLD = "cold_holding.maximum"
DAY = date(2026, 4, 7)
APPROVAL = {
    "authority": "County health department",
    "reference": "V-2031",
    "approved_on": date(2026, 4, 1),
}


@pytest.fixture
def venue():
    return a_venue()


def _set(venue, value, rule=COLD, **more):
    return services.set_local_limit(
        venue=venue,
        rule=rule,
        value=Decimal(value),
        valid_from=DAY,
        by=a_recorder(venue),
        **more,
    )


def _row(venue, rule=COLD):
    return next(row for row in limit_rows(venue, DAY) if row.rule.rule == rule)


@pytest.mark.parametrize("value", ["4", "5"])
def test_a_limit_as_strict_as_the_codes_needs_no_leave(venue, value):
    """FDA Food Code 3-501.16(A)(2): 5 °C. [read]"""
    limit = _set(venue, value)
    assert [event.action for event in history(limit)] == ["set a limit"]


def test_a_looser_limit_asks_for_all_three_parts_of_the_approval(venue):
    with pytest.raises(ValidationError) as refused:
        _set(venue, "5.001", authority="County health department")
    assert set(refused.value.message_dict) == {"reference", "approved_on"}
    assert "The code's limit is 5 °C" in refused.value.message_dict["reference"][0]
    assert _set(venue, "5.001", **APPROVAL).pk


def test_stricter_is_larger_where_a_smaller_number_is_looser(venue):
    """FDA Food Code 4-101.14: no copper below pH 6. [read]"""
    assert _set(venue, "6.5", rule="metals.copper_minimum_ph").pk
    with pytest.raises(ValidationError, match="a looser one needs this"):
        _set(venue, "5.9", rule="metals.copper_minimum_ph")


def test_where_the_code_is_silent_any_limit_of_the_venue_is_a_start():
    assert _set(a_venue("eu", "Europe/Berlin"), "7").pk


@pytest.mark.parametrize(
    ("rule", "value", "more", "field", "said"),
    [
        ("no.such.rule", "4", {}, "rule", "is no limit that a venue can set"),
        ("date_marking.day_one", "4", {}, "rule", "is no limit that a venue can set"),
        ("date_marking.days", "0", {}, "value", "is not above zero"),
        (COLD, "8", {**APPROVAL, "approved_on": date(2999, 1, 1)}, "approved_on", "to come"),
    ],
)
def test_a_limit_that_makes_no_sense_is_refused_at_its_field(venue, rule, value, more, field, said):
    with pytest.raises(ValidationError) as refused:
        _set(venue, value, rule=rule, **more)
    assert said in refused.value.message_dict[field][0]


@pytest.mark.records
def test_the_database_refuses_half_an_approval(venue):
    with pytest.raises(IntegrityError, match="approval_is_whole"), transaction.atomic():
        LocalLimit.objects.create(
            venue=venue, rule=COLD, value=8, unit="degC", valid_from=DAY, authority="County"
        )


def test_a_withdrawn_limit_no_longer_governs_and_says_why(venue):
    limit = _set(venue, "4")
    assert _row(venue).governs.value == 4
    services.withdraw_local_limit(limit=limit, reason="New cooler", by=a_recorder(venue))
    assert _row(venue).governs.value == 5
    assert history(limit)[0].reason == "New cooler"
    with pytest.raises(ValidationError, match="withdrawn already"):
        services.withdraw_local_limit(limit=limit, reason="Again", by=a_recorder(venue))


def test_a_limit_shows_the_codes_row_beside_it_with_its_source(client, venue):
    client.force_login(a_person(venue, "inspector"))
    _set(venue, "4")
    page = client.get("/venue/limits/").content.decode()
    for words in (
        "3-501.16(A)(2)",
        "read in the source",
        "Governs today: 4 °C (39.2 °F)",
        "5 °C (41 °F)",
    ):
        assert words in page
    assert "Set a limit of your own" not in page


def test_a_silent_code_is_said_to_be_silent(client):
    venue = a_venue("eu", "Europe/Berlin")
    client.force_login(a_person(venue))
    assert "names no refrigerator temperature" in client.get("/venue/limits/").content.decode()


def test_an_owner_sets_and_withdraws_a_limit_on_the_page(client, venue):
    client.force_login(a_person(venue, "owner"))
    typed = {"rule": COLD, "value": "8 °C", "valid_from": "2026-04-07"}
    answer = client.post("/venue/limits/add/", typed)
    assert set(answer.context["form"].errors) == {"authority", "reference", "approved_on"}
    approval = {"authority": "County", "reference": "V-1", "approved_on": "2026-04-01"}
    assert client.post("/venue/limits/add/", {**typed, **approval}).status_code == 302
    url = f"/venue/limits/{LocalLimit.objects.get().pk}/withdraw/"
    assert "Say why" in str(client.post(url, {"reason": ""}).context["form"].errors)
    assert client.post(url, {"reason": "Approval ended"}).status_code == 302
    assert "withdrawn" in client.get("/venue/limits/").content.decode()


@pytest.mark.parametrize(
    ("rule", "typed", "value"),
    [
        (COLD, "40 °F", "4.45"),  # 4.444 °C: NIST SP 811 (2008), appendix B.9 [memory]
        (COLD, "4 °C", "4"),
        (COLD, "4,5 C", "4.5"),
        ("thermometer.food_accuracy", "1.8 °F", "1"),
        ("thermometer.food_accuracy", "0.5 °C", "0.5"),
        ("date_marking.days", "5", "5"),
        ("date_marking.days", "5 days", "5"),
    ],
)
def test_a_value_is_taken_in_the_unit_it_was_typed_in(client, venue, rule, typed, value):
    client.force_login(a_person(venue, "owner"))
    sent = {"rule": rule, "value": typed, "valid_from": "2026-04-07"}
    assert client.post("/venue/limits/add/", sent).status_code == 302
    assert LocalLimit.objects.get().value == Decimal(value)


@pytest.mark.parametrize(
    ("rule", "typed", "said"),
    [
        (COLD, "40", "has no unit"),
        (COLD, "4 h", "temperature"),
        ("date_marking.days", "a week", "number"),
    ],
)
def test_a_value_that_cannot_be_read_is_told_at_its_field(client, venue, rule, typed, said):
    client.force_login(a_person(venue, "owner"))
    sent = {"rule": rule, "value": typed, "valid_from": "2026-04-07"}
    answer = client.post("/venue/limits/add/", sent)
    assert said in " ".join(answer.context["form"].errors["value"])
    assert f'value="{typed}"' in answer.content.decode()


def test_the_limit_of_another_venue_is_not_found(client, venue):
    client.force_login(a_person(venue, "owner"))
    theirs = _set(a_venue(name="Elsewhere"), "4")
    url = f"/venue/limits/{theirs.pk}/withdraw/"
    assert client.get(url).status_code == 404
    assert client.post(url, {"reason": "Mine"}).status_code == 404


def test_the_rules_are_told_the_limits_in_force_and_no_other_venues(venue):
    kept, withdrawn = _set(venue, "4"), _set(venue, "3", **APPROVAL)
    services.withdraw_local_limit(limit=withdrawn, reason="set twice", by=a_recorder(venue))
    elsewhere = _set(a_venue(name="The Other Finch"), "2")
    assert house(venue).local_limits == (kept.as_fact(),)
    assert house(elsewhere.venue).local_limits == (elsewhere.as_fact(),)
