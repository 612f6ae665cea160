"""Time that nobody read: asked about, decided by a manager, and never more than unread time."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from kegsafe.cold_chain import services
from kegsafe.cold_chain.models import GapDecision
from kegsafe.ledger.queries import history
from kegsafe.ledger.verification import verify_records
from tests.builders import a_person, a_place, a_recorder, a_venue
from tests.query_counts import queries_of

pytestmark = pytest.mark.django_db

NIGHT = timedelta(hours=10)


@pytest.fixture
def venue():
    return a_venue("us_fda_2022", "America/New_York")


@pytest.fixture
def place(venue):
    return a_place(venue, name="Walk-in")


@pytest.fixture
def morning():
    return timezone.now().replace(microsecond=0) - timedelta(hours=1)


@pytest.fixture
def probe(venue):
    by = a_recorder(venue)
    probe = services.add_thermometer(venue=venue, name="Probe 1", is_air=False, by=by)
    services.record_check(
        thermometer=probe,
        checked_at=timezone.now(),
        method="ice_point",
        read_degc=Decimal("0.1"),
        by=by,
    )
    return probe


@pytest.fixture
def signed_in(client, venue):
    def sign_in(role):
        client.force_login(a_person(venue, role))
        return client

    return sign_in


def read(place, at, degc="3"):
    services.record_reading(
        place=place, read_at=at, temperature_degc=Decimal(degc), by=a_recorder(place.venue)
    )


def a_night(place, morning, evening_degc="3"):
    """Read in the evening and again in the morning, ten hours later."""
    read(place, morning - NIGHT, evening_degc)
    read(place, morning)


def decide(place, morning, counts="cold", **said):
    usual = {"found": "Power on, door shut.", "measured_degc": Decimal("3.2")}
    return services.decide_gap(
        place=place,
        from_s=int((morning - NIGHT).timestamp()),
        until_s=int(morning.timestamp()),
        counts=counts,
        decided_at=timezone.now(),
        by=a_recorder(place.venue),
        **{**usual, **said},
    )


def address(place, morning):
    """The address of the night, as the list and the pour check give it."""
    begins, ends = int((morning - NIGHT).timestamp()), int(morning.timestamp())
    return reverse("cold-gap", args=[place.pk, begins, ends])


def text(answer):
    return " ".join(answer.content.decode().split())


# What is refused


def test_cold_needs_a_drink_that_was_measured(place, morning):
    with pytest.raises(ValidationError, match="measure the drink"):
        decide(place, morning, measured_degc=None)


def test_cold_needs_the_thermometer_it_was_measured_with(place, morning):
    with pytest.raises(ValidationError, match="which thermometer"):
        decide(place, morning)


@pytest.mark.parametrize(("degc", "is_cold"), [("4.99", True), ("5.00", True), ("5.01", False)])
def test_cold_is_at_the_limit_of_the_code_and_not_above(place, morning, probe, degc, is_cold):
    """FDA Food Code 3-501.16(A)(2): 5 °C or less."""
    if is_cold:
        decide(place, morning, thermometer=probe, measured_degc=Decimal(degc))
    else:
        with pytest.raises(ValidationError, match="It cannot count as cold"):
            decide(place, morning, thermometer=probe, measured_degc=Decimal(degc))


def test_what_a_thermometer_nobody_checked_may_be_off_is_added(venue, place, morning):
    """One degree, FDA Food Code 4-203.11: 4.5 °C may be 5.5 °C."""
    unchecked = services.add_thermometer(
        venue=venue, name="Probe 2", is_air=False, by=a_recorder(venue)
    )
    with pytest.raises(ValidationError, match="give or take 1 °C"):
        decide(place, morning, thermometer=unchecked, measured_degc=Decimal("4.5"))


def test_a_decision_says_what_was_found(place, morning):
    with pytest.raises(ValidationError, match="Say what was found"):
        decide(place, morning, counts="warm", found="  ")


def test_time_that_goes_on_is_read_and_not_decided(place):
    with pytest.raises(ValidationError, match="Read the place first"):
        decide(place, timezone.now() + timedelta(hours=1), counts="hold")


def test_a_thermometer_of_another_bar_measures_nothing_here(place, morning):
    other = a_venue(name="The Other Finch")
    probe = services.add_thermometer(venue=other, name="P", is_air=False, by=a_recorder(other))
    with pytest.raises(ValidationError, match="another venue"):
        decide(place, morning, thermometer=probe)


def test_a_decision_stands_in_the_ledger(place, morning, probe):
    decision = decide(place, morning, thermometer=probe)
    assert [event.action for event in history(decision)] == ["decided about unread time"]
    assert list(verify_records()) == []


# The pages


def test_a_night_waits_for_a_decision_and_says_how_long_a_reading_speaks(signed_in, place, morning):
    a_night(place, morning)
    page = signed_in("manager").get(reverse("cold-gaps"))
    [(found, part, _)] = page.context["waiting"]
    assert (found.place, part.seconds) == (place, NIGHT.total_seconds())
    assert "A reading speaks for its place for 4 h" in text(page)
    assert address(place, morning) in text(page)


def test_staff_sees_what_waits_and_cannot_decide(signed_in, place, morning):
    a_night(place, morning)
    staff = signed_in("staff")
    page = staff.get(reverse("cold-gaps"))
    assert "A manager decides." in text(page)
    assert address(place, morning) not in text(page)
    assert staff.post(address(place, morning), {"counts": "cold"}).status_code == 403


def test_a_manager_decides_and_the_night_waits_no_more(signed_in, place, morning, probe):
    a_night(place, morning)
    manager = signed_in("manager")
    typed = {
        "found": "Power on, door shut.",
        "measured_degc_0": "38",
        "measured_degc_1": "°F",
        "thermometer": probe.pk,
        "counts": "cold",
    }
    page = manager.post(address(place, morning), typed, follow=True)
    assert page.redirect_chain == [(reverse("cold-gaps"), 302)]
    assert page.context["waiting"] == []
    decision = GapDecision.objects.get()
    assert (decision.from_s, decision.until_s) == (
        int((morning - NIGHT).timestamp()),
        int(morning.timestamp()),
    )
    assert "count as cold" in text(page)


def test_what_was_typed_comes_back_with_what_was_wrong(signed_in, place, morning):
    a_night(place, morning)
    page = signed_in("manager").post(
        address(place, morning), {"found": "Door was open", "counts": "cold"}
    )
    assert "measure the drink" in text(page)
    assert "Door was open" in text(page)
    assert not GapDecision.objects.exists()


def test_a_piece_of_the_night_leads_to_a_decision_about_all_of_it(signed_in, place, morning):
    a_night(place, morning)
    begins = int((morning - timedelta(hours=6)).timestamp())
    url = reverse("cold-gap", args=[place.pk, begins, begins + 3600])
    page = signed_in("manager").get(url)
    assert page.context["long"] == NIGHT


def test_a_decision_can_be_taken_again(signed_in, place, morning, probe):
    a_night(place, morning)
    decide(place, morning, counts="hold", measured_degc=None)
    manager = signed_in("manager")
    assert "are held" in text(manager.get(reverse("cold-gaps")))
    assert "Decided before: Power on, door shut." in text(manager.get(address(place, morning)))
    decide(place, morning, thermometer=probe)
    assert "count as cold" in text(manager.get(reverse("cold-gaps")))


def test_a_place_not_read_since_is_to_be_read_and_not_decided(signed_in, place, morning):
    read(place, morning - NIGHT)
    page = signed_in("manager").get(reverse("cold-gaps"))
    assert page.context["waiting"] == []
    assert "Read it now: that ends the gap." in text(page)


def test_a_night_that_began_warm_counts_as_above_and_is_not_decided(signed_in, place, morning):
    a_night(place, morning, evening_degc="9")
    manager = signed_in("manager")
    assert manager.get(reverse("cold-gaps")).context["waiting"] == []
    page = manager.get(address(place, morning), follow=True)
    assert "Nothing to decide here" in text(page)


@pytest.mark.parametrize("stretch", [(5, 5), (9, 5), (2**41, 2**42), (2**39, 2**39 + 9)])
def test_what_is_no_stretch_of_the_past_is_not_found(signed_in, place, stretch):
    url = reverse("cold-gap", args=[place.pk, *stretch])
    assert signed_in("manager").get(url).status_code == 404


def test_the_page_asks_as_much_for_ten_places_as_for_one(signed_in, venue, place, morning):
    a_night(place, morning)
    manager = signed_in("manager")
    with_one = queries_of(manager, reverse("cold-gaps"))
    for number in range(9):
        a_night(a_place(venue, name=f"Fridge {number}"), morning)
    assert queries_of(manager, reverse("cold-gaps")) == with_one


def test_the_first_second_ever_breaks_nothing(signed_in, place, morning):
    a_night(place, morning)
    url = reverse("cold-gap", args=[place.pk, 0, int(datetime.now(UTC).timestamp()) - 60])
    assert signed_in("manager").get(url).status_code == 200
