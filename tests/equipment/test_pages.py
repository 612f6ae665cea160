"""The pages of kegs, lines, taps and places, as the people of a bar use them."""

from datetime import timedelta

import pytest
from django.contrib.messages import get_messages
from django.utils import timezone

from kegsafe.equipment import services
from kegsafe.equipment.models import Keg, Line, Place, Tap
from kegsafe.ledger.services import last_sequence
from tests.builders import a_keg, a_line, a_person, a_place, a_recorder, a_tap, a_venue
from tests.query_counts import queries_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def venue():
    return a_venue()


@pytest.fixture
def manager(client, venue):
    client.force_login(a_person(venue, "manager"))
    return client


@pytest.fixture
def staff(client, venue):
    client.force_login(a_person(venue, "staff"))
    return client


KEG = {
    "name": "K7",
    "capacity": "5 gal",
    "rated_pressure": "130 psi",
    "metal": "stainless",
    "serial": "",
}


def _errors(answer):
    return {name: list(found) for name, found in answer.context["form"].errors.items()}


def test_a_keg_is_added_in_the_units_of_its_plate(manager):
    assert manager.post("/equipment/kegs/add/", KEG).status_code == 302
    keg = Keg.objects.get()
    # NIST SP 811 (2008), appendix B.8: 1 gal = 3.785 412 L, 1 psi = 6.894 757 kPa. [memory]
    assert (f"{keg.capacity_ml:.1f}", f"{keg.rated_gauge_pa:.1f}") == ("18927.1", "896318.4")


def test_a_keg_without_a_plate_is_shown_as_not_allowed_under_pressure(manager):
    manager.post("/equipment/kegs/add/", {**KEG, "rated_pressure": ""})
    for url in ("/equipment/", f"/equipment/kegs/{Keg.objects.get().pk}/"):
        page = manager.get(url).content.decode()
        assert "no rating: not allowed under pressure" in page.lower()


def test_metals_are_not_known_until_somebody_has_looked(manager):
    for url in ("/equipment/kegs/add/", "/equipment/lines/add/"):
        assert manager.get(url).context["form"]["metal"].value() == "not_known"


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("rated_pressure", "130", '"130" has no unit'),
        ("rated_pressure", "0 bar", '"0 bar" is less than this field takes'),
        ("capacity", "19 kg", '"19 kg" is'),
        ("capacity", "", "This is still empty, and it is needed."),
        ("name", "", "This is still empty, and it is needed."),
        ("metal", "gold", "not on the list"),
    ],
)
def test_a_mistyped_field_says_so_and_keeps_what_was_typed(manager, field, typed, said):
    answer = manager.post("/equipment/kegs/add/", {**KEG, field: typed})
    assert said in " ".join(_errors(answer)[field])
    assert not Keg.objects.exists()
    assert 'value="K7"' in answer.content.decode() or field == "name"


def test_a_second_keg_of_a_name_is_refused_on_the_page(manager, venue):
    a_keg(venue, name="K7")
    answer = manager.post("/equipment/kegs/add/", KEG)
    assert _errors(answer) == {"__all__": ["There is already a keg of this name."]}


def test_an_amendment_shows_round_figures_and_changes_only_what_was_typed(manager, venue):
    keg = a_keg(venue, name="K7")
    url = f"/equipment/kegs/{keg.pk}/amend/"
    shown = manager.get(url).context["form"].initial
    assert (shown["capacity"], shown["rated_pressure"]) == ("19 L", "9 bar gauge")
    answer = manager.post(url, {**shown, "serial": "A-12", "reason": "Read the plate"})
    assert answer.status_code == 302
    amended = Keg.objects.get()
    assert (amended.serial, amended.capacity_ml) == ("A-12", keg.capacity_ml)


def test_an_amendment_of_what_somebody_else_changed_is_refused(manager, venue):
    keg = a_keg(venue)
    url = f"/equipment/kegs/{keg.pk}/amend/"
    shown = manager.get(url).context["form"].initial
    by = a_recorder(venue)
    services.amend_keg(keg=keg, changes={"serial": "Mine"}, reason="First", by=by)
    answer = manager.post(url, {**shown, "serial": "Yours", "reason": "Second"})
    assert "Somebody else changed this record" in _errors(answer)["__all__"][0]
    assert Keg.objects.get().serial == "Mine"


def test_a_keg_is_moved_in_two_presses(staff, venue):
    keg, place = a_keg(venue), a_place(venue, name="Walk-in")
    page = staff.get(f"/equipment/kegs/{keg.pk}/move/").content.decode()
    assert f'name="place" value="{place.pk}"' in page
    answer = staff.post(f"/equipment/kegs/{keg.pk}/move/", {"place": place.pk})
    assert [str(said) for said in get_messages(answer.wsgi_request)] == [
        f"Recorded: {keg} stands in Walk-in."
    ]
    assert "Walk-in" in staff.get("/equipment/").content.decode()


@pytest.mark.parametrize("place", ["", "x", "0", "9" * 30, None])
def test_a_move_to_nowhere_is_not_found(staff, venue, place):
    keg = a_keg(venue)
    data = {} if place is None else {"place": place}
    assert staff.post(f"/equipment/kegs/{keg.pk}/move/", data).status_code == 404


def test_staff_quarantine_a_keg_but_do_not_add_one(staff, venue):
    keg = a_keg(venue)
    data = {"service": "quarantined", "reason": "Valve weeps"}
    assert staff.post(f"/equipment/kegs/{keg.pk}/service/", data).status_code == 302
    assert "Valve weeps" in staff.get(f"/equipment/kegs/{keg.pk}/").content.decode()
    assert staff.post("/equipment/kegs/add/", KEG).status_code == 403


def test_a_keg_shows_what_it_held_where_it_stood_and_how_it_was_cleaned(staff, venue):
    keg, by, now = a_keg(venue), a_recorder(venue), timezone.now()
    services.place_keg(keg=keg, place=a_place(venue, name="Walk-in"), at=now, by=by)
    services.begin_use(
        keg=keg,
        drink="Paloma",
        allergens=["almond"],
        carried_over=["milk"],
        began_at=now - timedelta(hours=1),
        by=by,
    )
    page = staff.get(f"/equipment/kegs/{keg.pk}/").content.decode()
    for words in ("Paloma", "almond", "milk", "Walk-in", "No clean on record", "Added"):
        assert words in page


def test_lines_taps_and_places_are_added_and_amended(manager):
    line = {"name": "L1", "inner_diameter": "3/16 in", "length": "3 m", "metal": "brass"}
    manager.post("/equipment/lines/add/", line)
    added = Line.objects.get()
    # 3/16 in is 4.7625 mm exactly: NIST SP 811 (2008), an inch is 25.4 mm. [memory]
    assert (str(added.inner_diameter_mm), str(added.length_m)) == ("4.76", "3.00")
    manager.post("/equipment/taps/add/", {"name": "1", "line": added.pk})
    tap = Tap.objects.get()
    manager.post("/equipment/places/add/", {"name": "Walk-in", "kind": "walk_in"})
    place = Place.objects.get()
    for url, record, data in (
        (f"/equipment/lines/{added.pk}/amend/", added, {**line, "name": "L2"}),
        (f"/equipment/taps/{tap.pk}/amend/", tap, {"name": "2", "line": added.pk}),
        (f"/equipment/places/{place.pk}/amend/", place, {"name": "Cellar", "kind": "walk_in"}),
    ):
        seen = {"seen": last_sequence(record), "reason": "Renamed", "is_active": "on"}
        assert manager.post(url, {**data, **seen}).status_code == 302
        record.refresh_from_db()
        assert record.name == data["name"]


def test_k2_comes_before_k10(staff, venue):
    for name in ("K10", "K2", "K1"):
        a_keg(venue, name=name)
    shown = staff.get("/equipment/").context["page"]
    assert [keg.name for keg in shown] == ["K1", "K2", "K10"]


def test_kegs_are_found_by_name_drink_and_place(staff, venue):
    keg, by = a_keg(venue, name="K1"), a_recorder(venue)
    a_keg(venue, name="K2")
    now = timezone.now()
    services.place_keg(keg=keg, place=a_place(venue, name="Cellar"), at=now, by=by)
    services.begin_use(keg=keg, drink="Paloma", allergens=[], carried_over=[], began_at=now, by=by)
    for words in ("k1", "palo", "cell"):
        found = staff.get("/equipment/", {"q": words}).context["page"]
        assert [each.name for each in found] == ["K1"]
    assert "No keg fits" in staff.get("/equipment/", {"q": "<script>"}).content.decode()


@pytest.mark.parametrize(
    ("url", "make"),
    [
        ("/equipment/", a_keg),
        ("/equipment/lines/", a_tap),
        ("/equipment/taps/", a_tap),
        ("/equipment/places/", a_place),
    ],
)
def test_a_list_of_two_hundred_takes_as_many_queries_as_one_of_ten(staff, venue, url, make):
    for _each in range(10):
        make(venue)
    few = queries_of(staff, url)
    for _each in range(190):
        make(venue)
    assert queries_of(staff, url) == few
    assert few <= 5


def test_an_empty_list_says_what_to_do(manager):
    assert "Add a keg" in manager.get("/equipment/").content.decode()


@pytest.mark.parametrize(
    "path",
    [
        "kegs/{keg}/",
        "kegs/{keg}/amend/",
        "kegs/{keg}/service/",
        "kegs/{keg}/move/",
        "lines/{line}/",
        "lines/{line}/amend/",
        "lines/{line}/service/",
        "taps/{tap}/amend/",
        "places/{place}/amend/",
    ],
)
def test_the_equipment_of_another_venue_is_not_found(manager, path):
    other = a_venue(name="Elsewhere")
    theirs = {
        "keg": a_keg(other).pk,
        "line": a_line(other).pk,
        "tap": a_tap(other).pk,
        "place": a_place(other).pk,
    }
    url = "/equipment/" + path.format(**theirs)
    assert manager.get(url).status_code == 404
    assert manager.post(url, {"reason": "Mine now"}).status_code in {403, 404}


def test_a_keg_is_not_moved_to_a_place_of_another_venue(staff, venue):
    keg, theirs = a_keg(venue), a_place(a_venue(name="Elsewhere"))
    answer = staff.post(f"/equipment/kegs/{keg.pk}/move/", {"place": theirs.pk})
    assert answer.status_code == 404
