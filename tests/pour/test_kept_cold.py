"""What the places a drink stood in do to its pour: on the page, in the list, by the command.

The hours are those of the venue's code: FDA Food Code 2022 as read in shared/codes, two hours and
four hours above 5 °C.
"""

import json
from datetime import timedelta
from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import call_command
from django.urls import reverse
from django.utils import timezone

from kegsafe.batches.models import Fill
from kegsafe.cold_chain import services as cold_chain
from kegsafe.cold_chain.models import CorrectiveAction
from kegsafe.equipment.services import place_keg
from kegsafe.ledger.verification import verify_records
from kegsafe.pour.queries import keg_view, open_keg_views
from kegsafe.rules.findings import Outcome, Severity
from kegsafe.rules.pour_check import pour_check
from kegsafe.venues.services import set_local_limit
from tests.builders import (
    a_batch,
    a_clean,
    a_fill,
    a_keg,
    a_lot,
    a_person,
    a_place,
    a_recipe,
    a_recorder,
    a_venue,
    an_ingredient,
)
from tests.query_counts import queries_of

pytestmark = pytest.mark.django_db

AGO = timedelta(hours=30)


@pytest.fixture
def venue():
    return a_venue("us_fda_2022", "America/New_York")


@pytest.fixture
def now():
    return timezone.now().replace(microsecond=0)


@pytest.fixture
def cooler(venue):
    return a_place(venue, name="Tap cooler")


def a_drink(venue, place, now, *, needs_its_cold=True):
    """Filled thirty hours ago. Without a measured pH it is taken to need its cold."""
    spirit = an_ingredient(venue, category="spirit", total_so2_mg_per_l=Decimal(0))
    unmeasured = {"measured_ph": None, "measured_on": None} if needs_its_cold else {}
    recipe = a_recipe(venue, spirit, **unmeasured)
    lot = a_lot(venue, ingredient=spirit, received_at=now - AGO - timedelta(hours=2))
    batch = a_batch(venue, lot, recipe=recipe, made_at=now - AGO - timedelta(hours=1))
    keg = a_keg(venue)
    a_clean(venue, keg, cleaned_at=now - AGO - timedelta(hours=1))
    return a_fill(venue, batch=batch, keg=keg, filled_at=now - AGO, rest_hours=0, place=place)


def logged(place, now, *, warm=(0, 0), unread=(0, 0)):
    """Read every half hour since the fill, at 3 °C; 9 °C and nothing in these half hours of it."""
    for step in range(61):
        if unread[0] <= step < unread[1]:
            continue
        cold_chain.record_reading(
            place=place,
            read_at=now - AGO + step * timedelta(minutes=30),
            temperature_degc=Decimal("9" if warm[0] <= step < warm[1] else "3"),
            by=a_recorder(place.venue),
        )


def verdict_of(fill, now):
    view = keg_view(fill.batch.venue, fill.keg.label_code, now)
    return pour_check(view.facts, now)


def rules_of(verdict, *severities):
    return {finding.rule for finding in verdict.findings if finding.severity in severities}


def test_a_drink_kept_cold_since_it_was_filled_pours(venue, cooler, now):
    fill = a_drink(venue, cooler, now)
    logged(cooler, now)
    verdict = verdict_of(fill, now)
    assert verdict.outcome is Outcome.POUR
    assert "excursion.none" in rules_of(verdict, Severity.NOTE)


@pytest.mark.parametrize(
    ("readings", "outcome"),
    [(2, Outcome.POUR), (3, Outcome.ASK), (6, Outcome.ASK), (7, Outcome.STOP)],
)
def test_hours_above_the_limit_are_counted_from_good_reading_to_good_reading(
    venue, cooler, now, readings, outcome
):
    """Seven readings too warm, half an hour apart, lie within four hours: from there on no pour."""
    fill = a_drink(venue, cooler, now)
    logged(cooler, now, warm=(10, 10 + readings))
    assert verdict_of(fill, now).outcome is outcome


def test_warm_hours_stay_with_a_drink_that_was_moved_into_the_cold(venue, cooler, now):
    fill = a_drink(venue, cooler, now)
    logged(cooler, now, warm=(10, 20))
    walk_in = a_place(venue, name="Walk-in")
    place_keg(keg=fill.keg, place=walk_in, at=now - timedelta(hours=3), by=a_recorder(venue))
    logged(walk_in, now)
    verdict = verdict_of(fill, now)
    assert verdict.outcome is Outcome.STOP
    assert "5 h 30 min above the limit in all" in verdict.reason


def test_a_drink_that_came_after_the_warmth_is_none_the_worse(venue, cooler, now):
    walk_in = a_place(venue, name="Walk-in")
    fill = a_drink(venue, walk_in, now)
    logged(walk_in, now)
    logged(cooler, now, warm=(10, 20))
    place_keg(keg=fill.keg, place=cooler, at=now - timedelta(hours=3), by=a_recorder(venue))
    assert verdict_of(fill, now).outcome is Outcome.POUR


def test_a_drink_that_needs_no_cold_is_a_matter_of_quality(venue, cooler, now):
    fill = a_drink(venue, cooler, now, needs_its_cold=False)
    logged(cooler, now, warm=(10, 30))
    verdict = verdict_of(fill, now)
    assert verdict.outcome is Outcome.POUR
    assert "excursion.quality" in rules_of(verdict, Severity.WARN)


@pytest.mark.parametrize(("half_hours", "outcome"), [(7, Outcome.POUR), (8, Outcome.ASK)])
def test_readings_four_hours_apart_are_near_enough_and_further_apart_are_not(
    venue, cooler, now, half_hours, outcome
):
    fill = a_drink(venue, cooler, now)
    logged(cooler, now, unread=(20, 20 + half_hours))
    assert verdict_of(fill, now).outcome is outcome


def test_what_a_manager_decides_of_a_night_holds_for_every_keg_that_stood_there(venue, cooler, now):
    fills = [a_drink(venue, cooler, now) for _ in range(2)]
    logged(cooler, now, unread=(20, 40))
    assert {verdict_of(fill, now).outcome for fill in fills} == {Outcome.ASK}
    begins = now - AGO + 19 * timedelta(minutes=30)
    for counts, outcome in (("hold", Outcome.STOP), ("warm", Outcome.STOP)):
        cold_chain.decide_gap(
            place=cooler,
            from_s=int(begins.timestamp()),
            until_s=int((begins + timedelta(hours=10, minutes=30)).timestamp()),
            counts=counts,
            found="The fuse had blown.",
            decided_at=now,
            by=a_recorder(venue),
        )
        assert {verdict_of(fill, now).outcome for fill in fills} == {outcome}


def test_the_last_reading_counts_whoever_took_it(venue, cooler, now):
    """A logger's reading is as good as one by hand: both are in the log of the place."""
    fill = a_drink(venue, cooler, now)
    logged(cooler, now)
    view = keg_view(venue, fill.keg.label_code, now)
    assert view.facts.fill.cold.read_at == now
    assert view.facts.fill.cold.temperature_degc == 3


def test_a_date_is_shortened_by_warm_hours_only_where_the_venue_chose_so(venue, cooler, now):
    fill = a_drink(venue, cooler, now, needs_its_cold=False)
    logged(cooler, now, warm=(10, 14))
    whole = verdict_of(fill, now).use_by
    set_local_limit(
        venue=venue,
        rule="excursion.growth_charge",
        value=Decimal(100),
        valid_from=now.date() - timedelta(days=1),
        by=a_recorder(venue),
    )
    verdict = verdict_of(fill, now)
    assert verdict.use_by < whole
    [binding] = [each for each in verdict.findings if "This date binds." in each.statement]
    assert binding.rule == "excursion.growth"


# The page, the list, the command


def test_the_page_leads_a_manager_from_the_night_to_the_decision(client, venue, cooler, now):
    fill = a_drink(venue, cooler, now)
    logged(cooler, now, unread=(20, 40))
    url = reverse("pour-check", args=[fill.keg.label_code])
    begins = int((now - AGO + 19 * timedelta(minutes=30)).timestamp())
    gap = reverse("cold-gap", args=[cooler.pk, begins, begins + 37_800])
    client.force_login(a_person(venue, "staff"))
    assert gap not in client.get(url).content.decode()
    client.force_login(a_person(venue, "manager"))
    assert gap in client.get(url).content.decode()


def test_a_drink_with_a_long_past_costs_no_more_queries(client, venue, cooler, now):
    fill = a_drink(venue, cooler, now)
    logged(cooler, now, warm=(10, 20), unread=(30, 40))
    walk_in = a_place(venue, name="Walk-in")
    place_keg(keg=fill.keg, place=walk_in, at=now - timedelta(hours=3), by=a_recorder(venue))
    client.force_login(a_person(venue))
    assert queries_of(client, reverse("pour-check", args=[fill.keg.label_code])) == 8
    assert queries_of(client, reverse("pour-search")) == 8


def test_the_command_prints_the_times_and_the_numbers(venue, cooler, now):
    fill = a_drink(venue, cooler, now)
    logged(cooler, now, warm=(10, 20))
    printed = StringIO()
    with pytest.raises(SystemExit) as left:
        call_command("pour_check", fill.keg.name, "--json", stdout=printed)
    verdict = json.loads(printed.getvalue())
    assert (verdict["outcome"], left.value.code) == ("stop", 4)
    [discard] = [each for each in verdict["findings"] if each["rule"] == "excursion.discard_from"]
    assert discard["evidence"]["above the limit"] == "5 h 30 min"
    assert discard["evidence"]["warmest"] == "9 °C (48.2 °F)"


# What stood in a place that was too warm


@pytest.fixture
def warm(venue, cooler, now):
    """Two drinks in a cooler that has been too warm for six hours, and one in another place."""
    inside = [a_drink(venue, cooler, now) for _ in range(2)]
    a_drink(venue, a_place(venue, name="Walk-in"), now)
    logged(cooler, now, warm=(50, 61))
    return inside


def _warm_url(cooler, now):
    return reverse("warm-drinks", args=[cooler.pk, int((now - timedelta(hours=3)).timestamp())])


def test_an_excursion_lists_the_drinks_that_stood_there(client, venue, cooler, now, warm):
    client.force_login(a_person(venue))
    found = client.get(_warm_url(cooler, now)).context["found"]
    assert {drink.view.row["fill_id"] for drink in found.drinks} == {fill.pk for fill in warm}
    assert {drink.verdict.outcome for drink in found.drinks} == {Outcome.STOP}


def test_one_press_holds_them_and_is_the_corrective_action(client, venue, cooler, now, warm):
    client.force_login(a_person(venue, "staff", name="jonas"))
    url = _warm_url(cooler, now)
    page = client.post(url, {"kegs": [fill.pk for fill in warm]}, follow=True)
    assert page.redirect_chain == [(url, 302)]
    held = Fill.objects.filter(state="on_hold")
    assert set(held) == set(warm)
    assert held[0].state_reason.startswith("Tap cooler above its limit from ")
    action = CorrectiveAction.objects.get()
    assert (action.taken_by, action.what[:12]) == ("jonas", "Put on hold:")
    assert page.context["found"].to_hold == ()
    assert list(verify_records()) == []


def test_a_keg_from_elsewhere_cannot_be_held_here(client, venue, cooler, now, warm):
    client.force_login(a_person(venue))
    elsewhere = Fill.objects.exclude(pk__in=[fill.pk for fill in warm]).get()
    page = client.post(_warm_url(cooler, now), {"kegs": [elsewhere.pk]})
    assert "did not stand there" in page.content.decode()
    assert not Fill.objects.filter(state="on_hold").exists()


def test_a_place_that_was_not_warm_then_says_so(client, venue, cooler, now):
    client.force_login(a_person(venue))
    page = client.get(_warm_url(cooler, now), follow=True)
    assert "was not above its limit then" in page.content.decode()


def test_the_list_of_what_stood_there_costs_the_same_for_many(client, venue, cooler, now, warm):
    client.force_login(a_person(venue))
    with_two = queries_of(client, _warm_url(cooler, now))
    for _ in range(5):
        a_drink(venue, cooler, now)
    assert len(open_keg_views(venue)) == 8
    assert queries_of(client, _warm_url(cooler, now)) == with_two
