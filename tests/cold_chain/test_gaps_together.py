"""One form for the unread time of all places: decided together, or not at all."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from kegsafe.cold_chain import services
from kegsafe.cold_chain.models import GapDecision
from kegsafe.ledger.models import Entry
from kegsafe.ledger.verification import verify_records
from tests.builders import a_person, a_place, a_recorder, a_venue
from tests.query_counts import queries_of

pytestmark = pytest.mark.django_db

URL = "/cold/not-read/all/"
NIGHT = timedelta(hours=10)


@pytest.fixture
def venue():
    return a_venue("us_fda_2022", "America/New_York")


@pytest.fixture
def morning():
    return timezone.now().replace(microsecond=0) - timedelta(hours=1)


@pytest.fixture
def places(venue, morning):
    """Two fridges, each read in the evening and again in the morning, ten hours later."""
    return [a_night(a_place(venue, name=name), morning) for name in ("Fridge 1", "Fridge 2")]


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
def manager(client, venue):
    client.force_login(a_person(venue, "manager"))
    return client


def read(place, at, degc="3"):
    services.record_reading(
        place=place, read_at=at, temperature_degc=Decimal(degc), by=a_recorder(place.venue)
    )


def a_night(place, morning, evening_degc="3"):
    read(place, morning - NIGHT, evening_degc)
    read(place, morning, "3.4")
    return place


def shown_on(page):
    """What the page says the gaps of each place are, as its hidden fields send it."""
    return {f"shown-{row['place'].pk}": row["shown"] for row in page.context["rows"]}


def typed(client, *ticked, drinks=("3.2", "3.6"), **said):
    """A form filled in as a manager would, the drinks in the order of the ticked places."""
    usual = {"found": "Power on, doors shut.", "counts": "cold", **shown_on(client.get(URL))}
    for place, drink in zip(ticked, drinks, strict=False):
        usual |= {f"place-{place.pk}_0": drink, f"place-{place.pk}_1": "°C"}
    return {**usual, "ticked": [place.pk for place in ticked], **said}


def text(answer):
    return " ".join(answer.content.decode().split())


def errors(answer):
    return {name: list(said) for name, said in answer.context["form"].errors.items()}


# What is shown


def test_each_place_stands_with_its_gap_and_the_readings_on_either_side(manager, places, morning):
    page = manager.get(URL)
    assert [row["place"] for row in page.context["rows"]] == places
    for row in page.context["rows"]:
        [gap] = row["gaps"]
        assert (gap.from_at, gap.until_at, gap.long) == (morning - NIGHT, morning, NIGHT)
        assert (gap.before.degc, gap.after.degc) == (Decimal(3), Decimal("3.4"))
        assert (gap.before.at, gap.after.at) == (morning - NIGHT, morning)


def test_nothing_is_ticked_by_default(manager, places):
    page = manager.get(URL)
    assert not any(row["is_ticked"] for row in page.context["rows"])
    assert " checked" not in text(page)


def test_the_page_cautions_and_says_that_an_excursion_stays(manager, places):
    page = text(manager.get(URL))
    assert "A drink that is cold now may have been warm in between" in page
    assert "No decision makes an excursion vanish" in page


def test_a_night_that_began_warm_counts_as_above_and_is_not_asked_about(manager, venue, morning):
    a_night(a_place(venue, name="Fridge 9"), morning, evening_degc="9")
    page = manager.get(URL)
    assert page.context["rows"] == []
    assert "Nothing of the last 3 days waits" in text(page)


@pytest.mark.parametrize(("hours", "is_together"), [(71, True), (73, False)])
def test_what_began_more_than_three_days_ago_is_decided_one_at_a_time(
    manager, venue, hours, is_together
):
    place, now = a_place(venue, name="Fridge 1"), timezone.now()
    for hours_ago in (hours, hours - 10):
        read(place, now - timedelta(hours=hours_ago))
    page = manager.get(URL)
    gaps = [gap.long for row in page.context["rows"] for gap in row["gaps"]]
    assert gaps == ([NIGHT] if is_together else [])
    assert ("decide one at a time" in text(page)) is not is_together


def test_places_not_read_since_are_to_be_read_first(manager, venue, morning):
    for name in ("Fridge 1", "Fridge 2"):
        read(a_place(venue, name=name), morning - NIGHT)
    page = manager.get(URL)
    assert page.context["rows"] == []
    assert text(page).count("Read them now: that ends the gap.") == 1


def test_of_a_night_decided_in_part_the_rest_is_asked_about(manager, venue, morning):
    place = a_night(a_place(venue, name="Fridge 1"), morning)
    cut = [morning - timedelta(hours=hours) for hours in (7, 3)]
    services.decide_gap(
        place=place,
        from_s=int(cut[0].timestamp()),
        until_s=int(cut[1].timestamp()),
        counts="warm",
        found="The power was off.",
        decided_at=timezone.now(),
        by=a_recorder(venue),
    )
    page = manager.get(URL)
    [row] = page.context["rows"]
    assert [(gap.from_at, gap.until_at) for gap in row["gaps"]] == [
        (morning - NIGHT, cut[0]),
        (cut[1], morning),
    ]
    sides = {(gap.before.at, gap.after.at) for gap in row["gaps"]}
    assert sides == {(morning - NIGHT, morning)}
    assert text(page).count(", after it ") == text(page).count(", before it ") == 1


def test_the_round_and_the_page_of_unread_time_lead_here(manager, places):
    assert f'href="{URL}"' in text(manager.get(reverse("cold-round")))
    assert f'href="{URL}"' in text(manager.get(reverse("cold-gaps")))


def test_staff_is_not_led_here_and_may_not_decide(client, venue, places):
    client.force_login(a_person(venue, "staff"))
    assert URL not in text(client.get(reverse("cold-round")))
    assert URL not in text(client.get(reverse("cold-gaps")))
    assert client.get(URL).status_code == 403
    assert client.post(URL, {"ticked": [places[0].pk]}).status_code == 403


# What is recorded


def test_one_form_records_a_decision_for_each_ticked_place(manager, places, probe, morning):
    page = manager.post(URL, typed(manager, *places, thermometer=probe.pk), follow=True)
    assert page.redirect_chain == [(reverse("cold-gaps"), 302)]
    assert "what 2 unread stretches in 2 places count as" in text(page)
    assert page.context["waiting"] == []
    stored = GapDecision.objects.order_by("place__name")
    assert [(each.place, each.measured_degc) for each in stored] == [
        (places[0], Decimal("3.2")),
        (places[1], Decimal("3.6")),
    ]
    for each in stored:
        assert each.from_s == int((morning - NIGHT).timestamp())
        assert each.until_s == int(morning.timestamp())
        assert (each.counts, each.thermometer) == ("cold", probe)
    assert list(verify_records()) == []


def test_each_gap_of_a_place_has_a_decision_of_its_own(manager, venue, morning):
    place = a_place(venue, name="Fridge 1")
    for hours_ago in (20, 10, 0):
        read(place, morning - timedelta(hours=hours_ago))
    manager.post(URL, typed(manager, place, drinks=(), counts="hold"))
    seconds = GapDecision.objects.order_by("from_s").values_list("from_s", "until_s")
    at = [int((morning - timedelta(hours=hours_ago)).timestamp()) for hours_ago in (20, 10, 0)]
    assert list(seconds) == [(at[0], at[1]), (at[1], at[2])]


def test_a_place_that_is_not_ticked_waits_on(manager, places, probe):
    page = manager.post(URL, typed(manager, places[0], thermometer=probe.pk), follow=True)
    assert [found.place for found, _, _ in page.context["waiting"]] == [places[1]]


def test_fahrenheit_is_read_as_elsewhere(manager, places, probe):
    """38 °F is 3.33 °C; stored to the warmer hundredth."""
    manager.post(URL, typed(manager, places[0], drinks=("38 F",), thermometer=probe.pk))
    assert GapDecision.objects.get().measured_degc == Decimal("3.34")


def test_no_thermometer_is_recorded_where_nothing_was_measured(manager, places, probe):
    manager.post(URL, typed(manager, *places, drinks=("9",), counts="warm", thermometer=probe.pk))
    first, second = GapDecision.objects.order_by("place__name")
    assert (first.measured_degc, first.thermometer) == (Decimal(9), probe)
    assert (second.measured_degc, second.thermometer) == (None, None)


def test_the_same_form_sent_twice_is_recorded_once(manager, places, probe):
    manager.handler.enforce_csrf_checks = True
    page = manager.get(URL)
    form = typed(manager, *places, thermometer=probe.pk)
    form["csrfmiddlewaretoken"] = str(page.context["csrf_token"])
    assert manager.post(URL, form).status_code == 302
    assert manager.post(URL, form).status_code == 409
    assert GapDecision.objects.count() == 2


# What is refused


def test_one_drink_above_the_limit_keeps_all_from_being_recorded(manager, places, probe):
    """FDA Food Code 3-501.16(A)(2): 5 °C or less."""
    entries = Entry.objects.count()
    form = typed(manager, *places, drinks=("3.2", "5.01"), thermometer=probe.pk)
    page = manager.post(URL, form)
    assert list(errors(page)) == [f"place-{places[1].pk}"]
    assert "The drink measured 5.01 °C" in text(page)
    assert 'value="5.01"' in text(page)
    assert 'value="3.2"' in text(page)
    assert "Power on, doors shut." in text(page)
    assert [row["is_ticked"] for row in page.context["rows"]] == [True, True]
    assert not GapDecision.objects.exists()
    assert Entry.objects.count() == entries


def test_cold_needs_a_drink_measured_in_each_place(manager, places, probe):
    page = manager.post(URL, typed(manager, *places, drinks=("3.2",), thermometer=probe.pk))
    [said] = errors(page)[f"place-{places[1].pk}"]
    assert "measure the drink" in said
    assert not GapDecision.objects.exists()


def test_cold_needs_the_thermometer_and_says_so_once(manager, places):
    page = manager.post(URL, typed(manager, *places))
    assert errors(page) == {"thermometer": ["Say which thermometer it was measured with."]}


@pytest.mark.parametrize("drink", ["cold", "3 bar", "inf", "9**9**8"])
def test_what_is_no_temperature_is_said_at_its_place_and_kept(manager, places, probe, drink):
    form = typed(manager, *places, drinks=("3.2", drink), thermometer=probe.pk)
    page = manager.post(URL, form)
    assert list(errors(page)) == [f"place-{places[1].pk}"]
    assert f'value="{drink}"' in text(page)


def test_a_temperature_without_its_tick_is_asked_about(manager, places, probe):
    form = typed(manager, *places, thermometer=probe.pk)
    page = manager.post(URL, {**form, "ticked": [places[0].pk]})
    [said] = errors(page)[f"place-{places[1].pk}"]
    assert "the place is not ticked" in said
    assert not GapDecision.objects.exists()


def test_without_a_tick_nothing_is_decided(manager, places):
    page = manager.post(URL, typed(manager, counts="hold"))
    assert "Tick each place you decide about." in text(page)


def test_without_words_and_a_decision_nothing_is_decided(manager, places):
    page = manager.post(URL, typed(manager, places[0], found=" ", counts=""))
    assert list(errors(page)) == ["found", "counts"]


def test_what_somebody_decided_meanwhile_is_not_decided_over(manager, venue, places, probe):
    form = typed(manager, *places, thermometer=probe.pk)
    begins, ends = map(int, form[f"shown-{places[0].pk}"].split("-"))
    services.decide_gap(
        place=places[0],
        from_s=begins,
        until_s=ends,
        counts="hold",
        found="Door was open.",
        decided_at=timezone.now(),
        by=a_recorder(venue),
    )
    page = manager.post(URL, form)
    [said] = errors(page)[f"place-{places[0].pk}"]
    assert "has changed since this page was shown" in said
    assert GapDecision.objects.get().counts == "hold"


def test_a_gap_that_a_reading_cut_in_two_is_looked_at_again(manager, places, morning, probe):
    form = typed(manager, *places, thermometer=probe.pk)
    read(places[0], morning - timedelta(hours=5))
    page = manager.post(URL, form)
    assert list(errors(page)) == [f"place-{places[0].pk}"]
    assert [len(row["gaps"]) for row in page.context["rows"]] == [2, 1]
    # The page that says so shows the gaps as they are now, and can be sent again.
    again = {**form, **shown_on(page)}
    assert manager.post(URL, again).status_code == 302


def test_a_place_of_another_bar_is_not_found(manager, places, morning):
    others = a_night(a_place(a_venue(name="The Other Finch"), name="Fridge"), morning)
    form = typed(manager, places[0], drinks=(), counts="warm")
    answer = manager.post(URL, {**form, "ticked": [places[0].pk, others.pk]})
    assert answer.status_code == 404
    assert not GapDecision.objects.exists()


def test_the_service_stays_inside_one_venue(places, morning):
    other = a_venue(name="The Other Finch")
    with pytest.raises(ValueError, match="one venue"):
        services.decide_gaps(
            venue=other,
            asked=[services.PlaceAsked(places[0], "")],
            counts="hold",
            found="Power on.",
            decided_at=timezone.now(),
            by=a_recorder(other),
        )


def test_a_thermometer_of_another_bar_is_no_choice(manager, places):
    other = a_venue(name="The Other Finch")
    probe = services.add_thermometer(venue=other, name="P", is_air=False, by=a_recorder(other))
    page = manager.post(URL, typed(manager, *places, thermometer=probe.pk))
    assert list(errors(page)) == ["thermometer"]


def test_the_page_asks_as_much_for_eight_places_as_for_one(manager, venue, morning):
    a_night(a_place(venue, name="Fridge 0"), morning)
    with_one = queries_of(manager, URL)
    for number in range(1, 8):
        a_night(a_place(venue, name=f"Fridge {number}"), morning)
    assert queries_of(manager, URL) == with_one
