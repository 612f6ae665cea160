"""May I pour this? Asked on a phone, in the list of all kegs, and by the command."""

import json
from datetime import timedelta
from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse
from django.utils import timezone

from kegsafe.batches.services import add_recipe_item, hold_fill
from kegsafe.cold_chain.services import record_reading
from kegsafe.ledger.models import Entry
from kegsafe.ledger.queries import history
from kegsafe.pour.models import PourCheck
from kegsafe.stock.services import hold_lot
from tests.builders import (
    a_batch,
    a_fill,
    a_keg,
    a_lot,
    a_person,
    a_place,
    a_preparation,
    a_recipe,
    a_recorder,
    a_tapping,
    a_venue,
    an_ingredient,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def venue():
    return a_venue()


@pytest.fixture
def signed_in(client, venue):
    """Sign somebody in with a role at the venue."""

    def sign_in(role):
        client.force_login(a_person(venue, role))
        return client

    return sign_in


@pytest.fixture
def staff(signed_in):
    return signed_in("staff")


@pytest.fixture
def pouring(venue):
    return _a_keg_that_pours(venue)


def _a_keg_that_pours(venue, drink="Almond Fizz", **facts):
    """A drink with almond in it, rested, cold since its fill, in a clean keg."""
    almond = an_ingredient(
        venue,
        category="liqueur",
        allergens={"almond": ("contains", "")},
        total_so2_mg_per_l=Decimal(0),
    )
    recipe = a_recipe(venue, almond, name=drink, **facts)
    batch = a_batch(venue, a_lot(venue, ingredient=almond), recipe=recipe)
    place = a_place(venue)
    fill = a_fill(venue, batch=batch, rest_hours=0, place=place)
    _read(place, "3.1")
    return fill


def _read(place, degc):
    record_reading(
        place=place,
        read_at=timezone.now(),
        temperature_degc=Decimal(degc),
        by=a_recorder(place.venue),
    )


def _check_url(fill):
    return reverse("pour-check", args=[fill.keg.label_code])


def _text(answer):
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


# The page of one keg


def test_a_keg_in_order_pours_with_its_date_and_its_allergens(staff, pouring):
    page = staff.get(_check_url(pouring))
    assert page.context["verdict"].outcome == "pour"
    text = _text(page)
    assert '<p class="verdict-word">Pour</p>' in text
    assert "<strong>Almond (tree nut)</strong>" in text
    assert "Use by" in text


def test_the_allergens_are_read_beside_the_answer_right_after_the_use_by(staff, venue):
    milk = an_ingredient(venue, allergens={"milk": ("may_contain", "")}, name="Toffee liqueur")
    unread = an_ingredient(venue, allergen_list_basis="", name="Bitters")
    batch = a_batch(venue, a_lot(venue, ingredient=milk), a_lot(venue, ingredient=unread))
    page = staff.get(_check_url(a_fill(venue, batch=batch)))
    (first, _), (second, allergens) = page.context["facts"][:2]
    assert (first, second) == ("Use by", "Allergens")
    assert "may contain Milk" in allergens
    assert allergens.endswith("not known of Bitters: ask")


def test_a_drink_without_allergens_on_record_says_so_beside_the_answer(staff, venue):
    plain = an_ingredient(venue, total_so2_mg_per_l=Decimal(0))
    batch = a_batch(venue, a_lot(venue, ingredient=plain))
    page = staff.get(_check_url(a_fill(venue, batch=batch)))
    assert dict(page.context["facts"])["Allergens"] == "none declared"


def test_a_warm_place_stops_a_drink_that_needs_its_cold(staff, venue):
    """Nobody measured its pH, so it is taken to need time/temperature control."""
    fill = _a_keg_that_pours(venue, measured_ph=None, measured_on=None)
    _read(fill.keg.placements.get().place, "9")
    page = staff.get(_check_url(fill))
    assert page.context["verdict"].outcome == "stop"
    assert "above the limit of 5 °C" in page.context["verdict"].reason
    assert "Do not pour" in _text(page)


def test_a_keg_on_hold_is_not_poured_and_says_why(staff, venue, pouring):
    hold_fill(fill=pouring, reason="tastes of lees", by=a_recorder(venue))
    text = _text(staff.get(_check_url(pouring)))
    assert "Do not pour" in text
    assert "On hold: tastes of lees." in text


def _with_orgeat_in_the_glass(venue):
    """A keg that pours, topped in the glass with a syrup made in house of a bought paste."""
    paste = an_ingredient(venue, allergens={"hazelnut": ("contains", "")})
    bought = a_lot(venue, ingredient=paste)
    syrup = a_preparation(venue, bought).lot
    fill = _a_keg_that_pours(venue)
    add_recipe_item(
        recipe=fill.batch.recipe,
        ingredient=syrup.ingredient,
        where="glass",
        amount=Decimal(10),
        amount_typed="10 ml",
        by=a_recorder(venue),
    )
    return fill, bought


def test_what_is_behind_a_syrup_for_the_glass_is_declared(staff, venue):
    fill, _ = _with_orgeat_in_the_glass(venue)
    page = staff.get(_check_url(fill))
    assert page.context["verdict"].outcome == "pour"
    assert "Hazelnut (tree nut)" in _text(page)


def test_a_syrup_for_the_glass_made_of_a_lot_on_hold_is_asked_about(staff, venue):
    fill, bought = _with_orgeat_in_the_glass(venue)
    hold_lot(lot=bought, reason="recall notice", by=a_recorder(venue))
    page = staff.get(_check_url(fill))
    assert page.context["verdict"].outcome == "ask"
    assert "is on hold: recall notice. It went into" in page.context["verdict"].reason


def test_an_empty_keg_says_do_not_pour(staff, venue):
    keg = a_keg(venue)
    text = _text(staff.get(reverse("pour-check", args=[keg.label_code])))
    assert "Do not pour" in text
    assert f"Keg {keg.name} holds no drink." in text
    assert "Record: checked" not in text


def test_a_label_is_read_in_capitals_too(staff, pouring):
    url = reverse("pour-check", args=[pouring.keg.label_code.upper()])
    assert staff.get(url).status_code == 200


@pytest.mark.parametrize("method", ["get", "post"])
def test_another_venues_label_is_not_found(staff, method):
    elsewhere = _a_keg_that_pours(a_venue(name="The Other Finch"))
    url = {"get": "pour-check", "post": "pour-checked"}[method]
    answer = getattr(staff, method)(reverse(url, args=[elsewhere.keg.label_code]))
    assert answer.status_code == 404
    assert not PourCheck.objects.exists()


def test_an_inspector_sees_the_answer_and_no_buttons(signed_in, pouring):
    text = _text(signed_in("inspector").get(_check_url(pouring)))
    assert '<p class="verdict-word">Pour</p>' in text
    for button in ("Record: checked", "Put on hold", "Discard"):
        assert button not in text


def test_an_inspector_cannot_record_a_check(signed_in, pouring):
    url = reverse("pour-checked", args=[pouring.keg.label_code])
    assert signed_in("inspector").post(url).status_code == 403
    assert not PourCheck.objects.exists()


def test_only_a_manager_is_offered_to_release_a_keg_from_hold(signed_in, venue, pouring):
    hold_fill(fill=pouring, reason="tastes of lees", by=a_recorder(venue))
    assert "Release from hold" not in _text(signed_in("staff").get(_check_url(pouring)))
    assert "Release from hold" in _text(signed_in("manager").get(_check_url(pouring)))


def test_what_people_typed_is_never_markup(staff, venue):
    fill = _a_keg_that_pours(venue, drink="<script>alert(1)</script>")
    assert "<script>alert" not in _text(staff.get(_check_url(fill)))


# Recording that somebody looked


def test_staff_records_a_check_with_its_ledger_entry(staff, pouring):
    url = reverse("pour-checked", args=[pouring.keg.label_code])
    page = staff.post(url, follow=True)
    assert page.redirect_chain == [(_check_url(pouring), 302)]
    assert f"Checked and recorded: Keg {pouring.keg.name}." in _text(page)
    check = PourCheck.objects.get(fill=pouring)
    assert check.outcome == "pour"
    assert [event.action for event in history(check)] == ["checked before pouring"]
    assert check.findings == [each.as_json() for each in page.context["verdict"].findings]


def test_a_check_of_an_empty_keg_is_not_recorded(staff, venue):
    keg, entries = a_keg(venue), Entry.objects.count()
    page = staff.post(reverse("pour-checked", args=[keg.label_code]), follow=True)
    assert "This keg holds no drink: there is nothing to check." in _text(page)
    assert (PourCheck.objects.count(), Entry.objects.count()) == (0, entries)


def test_opening_the_page_records_nothing(staff, pouring):
    entries = Entry.objects.count()
    staff.get(_check_url(pouring))
    assert Entry.objects.count() == entries


# The list of every keg that holds a drink


def test_the_list_shows_what_may_not_be_poured_first(staff, venue):
    pours = _a_keg_that_pours(venue, "Almond Fizz")
    held = _a_keg_that_pours(venue, "Bitter Cup")
    hold_fill(fill=held, reason="tastes of lees", by=a_recorder(venue))
    page = staff.get(reverse("pour-search"))
    assert [view.row["name"] for view, _ in page.context["judged"]] == [
        held.keg.name,
        pours.keg.name,
    ]
    assert "On hold: tastes of lees." in _text(page)


@pytest.mark.parametrize("by", ["drink", "keg", "tap", "label"])
def test_a_keg_is_found_by_drink_keg_tap_or_label(staff, venue, by):
    _a_keg_that_pours(venue, "Bitter Cup")
    fill = _a_keg_that_pours(venue, "Almond Fizz")
    tapping = a_tapping(venue, fill=fill)
    wanted = {
        "drink": "almond",
        "keg": fill.keg.name.lower(),
        "tap": tapping.tap.name,
        "label": fill.keg.label_code,
    }[by]
    page = staff.get(reverse("pour-search"), {"q": wanted})
    assert [view.row["fill_id"] for view, _ in page.context["judged"]] == [fill.pk]


def test_a_keg_nobody_knows_is_said_to_be_unknown(staff, pouring):
    assert "No keg like that" in _text(staff.get(reverse("pour-search"), {"q": "nothing here"}))


def test_other_venues_and_empty_kegs_are_not_in_the_list(staff, venue):
    _a_keg_that_pours(a_venue(name="The Other Finch"))
    a_keg(venue)
    page = staff.get(reverse("pour-search"))
    assert page.context["judged"] == []
    assert "No keg holds a drink" in _text(page)


# The command


def _command(*arguments):
    """Run pour_check; return what it printed and its exit status."""
    printed = StringIO()
    with pytest.raises(SystemExit) as left:
        call_command("pour_check", *arguments, stdout=printed)
    return printed.getvalue(), left.value.code


def _refusal(*arguments):
    with pytest.raises(CommandError) as refused:
        call_command("pour_check", *arguments, stdout=StringIO())
    return str(refused.value), refused.value.returncode


def test_the_command_prints_the_verdict_as_json_and_leaves_with_0(pouring):
    printed, status = _command(pouring.keg.name, "--json")
    verdict = json.loads(printed)
    assert (verdict["outcome"], status) == ("pour", 0)
    assert verdict["use_by"] == pouring.use_by_at.astimezone(pouring.batch.venue.zone).isoformat()
    assert verdict["ready_from"] == pouring.ready_from.isoformat()
    assert verdict["allergens"]["contains"] == ["Almond (tree nut)"]
    assert {"rule", "severity", "statement", "source"} <= verdict["findings"][0].keys()


def test_the_command_says_the_same_in_words(pouring):
    printed, _ = _command(pouring.keg.label_code)
    assert printed.startswith(f"Keg {pouring.keg.name}: POUR\n")
    assert "Almond Fizz" in printed


def test_a_keg_still_resting_asks_the_manager_and_leaves_with_3(venue):
    fill = a_fill(venue, rest_hours=24)
    printed, status = _command(fill.keg.name)
    assert "ASK THE MANAGER" in printed
    assert status == 3


def test_a_keg_past_its_date_is_not_poured_and_leaves_with_4(pouring):
    later = (pouring.use_by_at + timedelta(days=1)).isoformat()
    printed, status = _command(pouring.keg.name, "--at", later)
    assert "DO NOT POUR" in printed
    assert "Past its date" in printed
    assert status == 4


def test_a_moment_without_an_offset_is_venue_time(pouring):
    """The last minute of the date pours, judged in the venue's own time; the next does not."""
    ends = pouring.batch.venue.local(pouring.use_by_at).replace(tzinfo=None)
    _, at_the_end = _command(pouring.keg.name, "--at", ends.isoformat())
    _, after = _command(pouring.keg.name, "--at", (ends + timedelta(minutes=1)).isoformat())
    assert (at_the_end == 4, after) == (False, 4)


def test_all_kegs_are_judged_and_the_gravest_is_the_exit_status(venue, pouring):
    held = _a_keg_that_pours(venue, "Bitter Cup")
    hold_fill(fill=held, reason="tastes of lees", by=a_recorder(venue))
    printed, status = _command("--all", "--json")
    assert {each["keg"]: each["outcome"] for each in json.loads(printed)} == {
        pouring.keg.name: "pour",
        held.keg.name: "stop",
    }
    assert status == 4


def test_no_keg_at_all_is_no_evidence_that_one_may_be_poured(venue):
    assert _command("--all", "--json")[1] == 3


def test_an_unknown_keg_is_refused_with_a_sentence_and_2(venue):
    assert _refusal("K999") == (f'No keg is called "K999" at {venue}.', 2)


def test_neither_a_keg_nor_all_is_refused(venue):
    assert _refusal() == ("Name one keg, or say --all.", 2)


def test_several_venues_must_be_told_apart(pouring):
    a_venue(name="The Other Finch")
    sentence, status = _refusal(pouring.keg.name)
    assert status == 2
    assert "--venue" in sentence
    assert "The Other Finch" in sentence


def test_a_moment_that_is_none_is_refused_with_one_that_is(pouring):
    with pytest.raises(CommandError, match=r"Write one such as 2026-04-07T18:30"):
        call_command("pour_check", pouring.keg.name, "--at", "tonight")
