"""The pages of pressure equipment and gas, as the people of a bar use them."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone

from kegsafe.equipment.models import Keg
from kegsafe.frame.documents import stored_path
from kegsafe.pressure import services
from kegsafe.pressure.models import Check, Connection, Document, GasRoom, Item, KegPlate
from tests.builders import a_keg, a_person, a_venue
from tests.pressure.point_results import BAR, results
from tests.query_counts import queries_of

pytestmark = pytest.mark.django_db

PDF = b"%PDF-1.4\n1 0 obj <<>> endobj\ntrailer <<>>\n%%EOF\n"


def _signed_in(client, venue, role):
    client.force_login(a_person(venue, role))
    return client


@pytest.fixture
def manager(client, venue):
    return _signed_in(client, venue, "manager")


@pytest.fixture
def staff(client, venue):
    return _signed_in(client, venue, "staff")


@pytest.fixture
def owner(client, venue):
    return _signed_in(client, venue, "owner")


def errors(answer):
    return {name: list(found) for name, found in answer.context["form"].errors.items()}


CYLINDER = {
    "name": "C3",
    "serial": "A 77",
    "cylinder_rule": "us.3al",
    "stamped_on": "11/2020",
    "rated_pressure": "1800 psi",
    "tare": "20 lb",
    "charge": "20 lb",
}


def test_a_cylinder_is_added_as_its_shoulder_reads(manager):
    answer = manager.post("/pressure/items/add/?kind=cylinder", CYLINDER)
    assert answer.status_code == 302, errors(answer)
    item = Item.objects.get()
    # NIST SP 811 (2008), appendix B.8: 1 psi = 6894.757 Pa, 1 lb = 453.592 37 g. [memory]
    assert f"{item.rated_gauge_pa:.0f}" == "12410563"
    assert f"{item.charge_g:.1f}" == "9071.8"
    assert str(item.stamped_on) == "2020-11-01"
    page = manager.get(answer.url).content.decode()
    assert "no refill; may be emptied" in page
    assert "Sat 1 Nov 2025" in page
    assert "49 CFR 180.209" in page


@pytest.mark.parametrize(
    ("kind", "field", "typed", "said"),
    [
        ("cylinder", "stamped_on", "6/12", '"6/12" is no month with its year'),
        ("cylinder", "stamped_on", "13/2020", "is no month of a stamp"),
        ("cylinder", "stamped_on", "1/2099", "is still to come"),
        ("cylinder", "requalify_by", "01/02/2027", "Write year-month-day"),
        ("cylinder", "tare", "9", '"9" has no unit'),
        ("cylinder", "rated_pressure", "250", '"250" has no unit'),
        ("cylinder", "rated_pressure", "250 bar absolute", "gauge"),
        ("regulator", "relief_pressure", "60 psia", "gauge"),
        ("regulator", "inlet_pressure", "200 bara", "gauge"),
        ("hose", "rated_pressure", "10 bar abs", "gauge"),
        ("relief_valve", "relief_pressure", "7 bar a", "gauge"),
        ("manifold", "test_pressure", "20 bar(a)", "gauge"),
        ("monitor", "first_alarm", "5000", '"5000" has no unit'),
    ],
)
def test_a_mistyped_plate_says_so_at_its_field(manager, kind, field, typed, said):
    answer = manager.post(f"/pressure/items/add/?kind={kind}", {"name": "X", field: typed})
    assert said in " ".join(errors(answer)[field])
    assert not Item.objects.exists()


def test_without_a_kind_the_kinds_are_offered(manager):
    page = manager.get("/pressure/items/add/").content.decode()
    assert "?kind=relief_valve" in page
    assert manager.get("/pressure/items/add/?kind=boiler").status_code == 200


def test_an_amendment_shows_what_was_typed_and_keeps_what_was(manager, venue, gas):
    url = f"/pressure/items/{gas.regulator.pk}/amend/"
    shown = {
        name: value for name, value in manager.get(url).context["form"].initial.items() if value
    }
    assert shown["relief_pressure"] == "6 bar gauge"
    answer = manager.post(url, {**shown, "serial": "R-9", "reason": "Read the plate"})
    assert answer.status_code == 302, errors(answer)
    amended = Item.objects.get(pk=gas.regulator.pk)
    assert (amended.serial, amended.relief_gauge_pa) == ("R-9", 6 * BAR)


def test_a_check_is_recorded_point_by_point_and_nothing_is_ticked_first(staff, gas):
    url = f"/pressure/items/{gas.regulator.pk}/check/?check=look"
    assert " checked" not in staff.get(url).content.decode()
    answer = staff.post(url, {"zero": "pass"})
    assert errors(answer) == {"body": ["Look, and say passed, failed or not applicable."]}
    assert staff.post(url, results("regulator", "look")).status_code == 302
    assert Check.objects.get().outcome == "pass"


def test_a_failed_relief_valve_shows_on_its_page_and_is_out_of_service(staff, venue, an_item):
    keg = a_keg(venue, name="K7")
    valve = an_item("relief_valve", keg=keg, relief_gauge_pa=7 * BAR)
    url = f"/pressure/items/{valve.pk}/check/?check=before_fill"
    staff.post(url, results("relief_valve", "before_fill", failed="lifts"))
    page = staff.get(f"/pressure/items/{valve.pk}/").content.decode()
    assert "Out of service until a check of this kind passes" in page
    assert Item.objects.get().service == "out_of_service"
    page = staff.get(f"/pressure/kegs/{keg.pk}/").content.decode()
    assert "Do not pour" in page
    assert "Relief valve 1 on its lid is out of service" in page


def test_a_formal_check_asks_for_the_competent_person_at_the_field(staff, gas):
    url = f"/pressure/items/{gas.regulator.pk}/check/?check=yearly"
    answer = staff.post(url, results("regulator", "yearly"))
    assert set(errors(answer)) == {"competent_person", "report"}


def test_an_unknown_check_is_not_found(staff, gas):
    assert staff.get(f"/pressure/items/{gas.regulator.pk}/check/?check=dance").status_code == 404


def test_the_owner_sets_an_interval_and_staff_may_not(client, venue, gas):
    url = f"/pressure/items/{gas.regulator.pk}/interval/?check=yearly"
    assert _signed_in(client, venue, "staff").get(url).status_code == 403
    owner = _signed_in(client, venue, "owner")
    assert owner.post(url, {"months": "6", "basis": "owner"}).status_code == 302


LEAK = {
    "gas_volume": "5 L",
    "start_pressure": "3.4 bar",
    "start_temperature": "20 °C",
    "end_pressure": "3.3 bar",
    "end_temperature": "20 °C",
    "time": "12 h",
    "gauge_error": "0.05 bar",
}


def test_a_leak_test_that_drops_more_than_the_gauge_shows_fails_the_manifold(staff, gas):
    answer = staff.post(f"/pressure/items/{gas.manifold.pk}/leak/", LEAK)
    assert answer.status_code == 302, errors(answer)
    check = Check.objects.get()
    assert check.outcome == "fail"
    # 5 L, 0.10 bar in 12 h at 20 degC: 0.075 g/h, ideal-gas law. [computed]
    assert "0.07" in check.comment
    assert Item.objects.get(pk=gas.manifold.pk).service == "out_of_service"


def test_cooling_alone_fails_no_keg(staff, venue):
    keg = a_keg(venue)
    typed = {**LEAK, "end_pressure": "3.25 bar", "start_temperature": "22 °C"}
    typed |= {"end_temperature": "12 °C", "gas_volume": "19 L"}
    assert staff.post(f"/pressure/kegs/{keg.pk}/leak/", typed).status_code == 302
    assert Check.objects.get().outcome == "pass"


@pytest.mark.parametrize("field", ["start_pressure", "end_pressure"])
def test_a_leak_test_takes_gauge_readings_only(staff, gas, field):
    answer = staff.post(
        f"/pressure/items/{gas.manifold.pk}/leak/", {**LEAK, field: "4.4 bar absolute"}
    )
    assert "gauge" in " ".join(errors(answer)[field])


def test_a_regulator_is_set_and_refused_above_the_weakest_part(manager, gas):
    url = f"/pressure/items/{gas.regulator.pk}/set/"
    answer = manager.post(url, {"set_pressure": "6 bar"})
    assert "Regulator 1 opens at 6.00 bar gauge" in " ".join(errors(answer)["set_pressure"])
    assert "gauge" in " ".join(
        errors(manager.post(url, {"set_pressure": "50 psia"}))["set_pressure"]
    )
    assert manager.post(url, {"set_pressure": "50 psi"}).status_code == 302


def test_a_keg_is_connected_and_disconnected(staff, venue, gas):
    keg = a_keg(venue, name="K9")
    url = f"/pressure/items/{gas.manifold.pk}/connect/"
    assert staff.post(url, {"target": f"keg-{keg.pk}"}).status_code == 302
    made = Connection.objects.get(keg=keg)
    assert "Keg K9" in staff.get("/pressure/gas/").content.decode()
    assert staff.post(f"/pressure/gas/{made.pk}/disconnect/").status_code == 302
    assert Connection.objects.get(pk=made.pk).ended_at is not None


def test_a_keg_without_a_rating_is_refused_on_the_page_by_name(staff, venue, gas):
    keg = a_keg(venue, name="K8", rated_gauge_pa=None)
    answer = staff.post(f"/pressure/items/{gas.manifold.pk}/connect/", {"target": f"keg-{keg.pk}"})
    assert "No rated pressure of Keg K8" in " ".join(errors(answer)["__all__"])


def test_fresh_gas_that_is_not_food_grade_is_refused_at_the_field(staff, gas):
    typed = {"supplier": "Northfield", "grade": "other", "lot": "B1", "charge": "20 lb"}
    url = f"/pressure/items/{gas.cylinder.pk}/charge/"
    assert "food-grade" in " ".join(errors(staff.post(url, typed))["grade"])
    assert staff.post(url, {**typed, "grade": "food"}).status_code == 302
    page = staff.get(f"/pressure/items/{gas.cylinder.pk}/").content.decode()
    assert "Lot B1" in page
    assert "no certificate" in page
    assert "Kegs its gas reached since the newest lot came: Keg K1" in page


def test_a_cylinder_is_weighed(staff, gas):
    url = f"/pressure/items/{gas.cylinder.pk}/weigh/"
    light = staff.post(url, {"gross": "9 kg", "uncertainty": "50 g"})
    assert "Lighter than its tare" in " ".join(errors(light)["gross"])
    assert staff.post(url, {"gross": "14.2 kg", "uncertainty": "50 g"}).status_code == 302


def test_a_kegs_plate_is_read_and_both_readings_are_shown(client):
    bar = a_venue("eu", "Europe/Paris", units="metric")
    manager = _signed_in(client, bar, "manager")
    keg = a_keg(bar, rated_gauge_pa=7 * BAR)
    url = f"/pressure/kegs/{keg.pk}/"
    page = manager.get(url).content.decode()
    assert "One reading: outside the directive" in page
    assert "Other reading: category I." in page
    typed = {"mark": "ce", "is_for_drinks_distribution": "yes", "reason": "Read it"}
    assert manager.post(f"{url}plate/", typed).status_code == 302
    assert KegPlate.objects.get().is_for_drinks_distribution is True
    assert "category I." not in manager.get(url).content.decode()


def test_the_test_pressure_of_a_kegs_plate_is_a_gauge_reading(manager, venue):
    keg = a_keg(venue)
    typed = {"mark": "ce", "reason": "Read it", "test_pressure": "13 bar absolute"}
    answer = manager.post(f"/pressure/kegs/{keg.pk}/plate/", typed)
    assert "gauge" in " ".join(errors(answer)["test_pressure"])
    assert not KegPlate.objects.exists()


# Rooms


def test_a_room_too_small_for_its_cylinder_says_so_and_never_safe(manager, an_item, by):
    typed = {"name": "Cellar", "volume": "40 m3", "air_changes": "2 /h", "is_below_ground": "yes"}
    answer = manager.post("/pressure/rooms/add/", typed)
    assert answer.status_code == 302, errors(answer)
    room = GasRoom.objects.get()
    an_item("cylinder", room=room, charge_g=Decimal(10_000))
    page = manager.get(answer.url).content.decode()
    # 10 kg in 40 m3 at 20 degC: 13.67 % by the ideal-gas law. [computed]
    assert "13.7 %" in page
    assert "Too small" in page
    assert 'role="img"' in page
    assert "is safe" not in page


def test_a_room_nobody_measured_has_no_figure(staff, venue, by):
    room = services.add_gas_room(venue=venue, name="Back bar", by=by)
    page = staff.get(f"/pressure/rooms/{room.pk}/").content.decode()
    assert "The volume of Back bar is not on record" in page


def test_the_sign_of_a_room_is_printed_from_its_own_page(staff, venue, by):
    room = services.add_gas_room(venue=venue, name="Back bar", by=by)
    assert "Danger of suffocation" in staff.get(f"/pressure/rooms/{room.pk}/sign/").content.decode()


# Files


def _send(client, gas, content, name="plate.pdf"):
    sent = SimpleUploadedFile(name, content, content_type="application/pdf")
    url = f"/pressure/items/{gas.regulator.pk}/document/"
    return client.post(url, {"kind": "certificate", "file": sent})


def test_a_certificate_is_kept_and_handed_out_to_be_saved(staff, gas):
    assert _send(staff, gas, PDF).status_code == 302
    answer = staff.get(f"/pressure/documents/{Document.objects.get().pk}/")
    assert b"".join(answer.streaming_content) == PDF
    assert answer["Content-Disposition"].startswith("attachment")
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Type"] == "application/pdf"


def test_a_page_in_disguise_is_refused_at_the_field(staff, gas):
    answer = _send(staff, gas, b"<html><script>alert(1)</script></html>")
    assert "no PDF, JPEG or PNG" in " ".join(errors(answer)["file"])
    assert not Document.objects.exists()


def test_another_bars_file_is_not_handed_out(client, venue, gas):
    _send(_signed_in(client, venue, "staff"), gas, PDF)
    stranger = _signed_in(client, a_venue(name="The Tin Heron"), "owner")
    assert stranger.get(f"/pressure/documents/{Document.objects.get().pk}/").status_code == 404


def test_somebody_signed_out_gets_no_file(client, venue, gas):
    _send(_signed_in(client, venue, "staff"), gas, PDF)
    client.logout()
    assert client.get(f"/pressure/documents/{Document.objects.get().pk}/").status_code == 302


def test_a_file_that_is_gone_from_the_folder_is_not_found(staff, gas):
    _send(staff, gas, PDF)
    document = Document.objects.get()
    stored_path(document).unlink()
    assert staff.get(f"/pressure/documents/{document.pk}/").status_code == 404


# Lists


def test_the_register_is_narrowed_sorted_and_says_how_many(staff, venue, gas):
    page = staff.get("/pressure/?kind=regulator&state=asks&sort=name").content.decode()
    assert "Regulator 1" in page
    assert "1 found" in page
    assert "Manifold 1" not in page.split("card-list")[1]
    assert "Nothing in the register fits" in staff.get("/pressure/?q=zebra").content.decode()
    assert staff.get("/pressure/?kind=boiler&state=x&sort=y&page=zz").status_code == 200


def test_the_audit_lists_what_is_due_failed_and_missing(owner, venue, gas, by):
    services.record_check(
        item=gas.regulator,
        check="look",
        results=results("regulator", "look", failed="zero"),
        by=by,
    )
    page = owner.get("/pressure/audit/").content.decode()
    assert "Regulator 1: Look at the regulator" in page
    assert "Replacement or reconditioning" in page
    assert "No certificate, declaration or report on file" in page


def _fill_the_bar(venue, by, numbers):
    for number in numbers:
        room = services.add_gas_room(venue=venue, name=f"Room {number}", by=by)
        item = services.add_item(venue=venue, kind="hose", name=f"H{number}", room=room, by=by)
        services.record_check(
            item=item, check="look", results=results("hose", "look", failed="wall"), by=by
        )
        regulator = services.add_item(venue=venue, kind="regulator", name=f"R{number}", by=by)
        target = services.add_item(
            venue=venue, kind="hose", name=f"T{number}", rated_gauge_pa=BAR, by=by
        )
        now = timezone.now() - timedelta(minutes=1)
        services.connect(source=regulator, item=target, at=now, by=by)


@pytest.mark.parametrize(
    "url", ["/pressure/", "/pressure/audit/", "/pressure/gas/", "/pressure/rooms/"]
)
def test_a_page_takes_as_many_queries_for_many_as_for_few(client, venue, by, gas, url):
    owner = _signed_in(client, venue, "owner")
    _fill_the_bar(venue, by, range(1))
    few = queries_of(owner, url)
    _fill_the_bar(venue, by, range(1, 12))
    assert queries_of(owner, url) == few


def test_the_pages_of_an_item_and_a_keg_take_as_many_queries_for_a_long_past(staff, gas, by):
    urls = [f"/pressure/items/{gas.manifold.pk}/", f"/pressure/kegs/{gas.keg.pk}/"]
    few = [queries_of(staff, url) for url in urls]
    for _ in range(6):
        for thing in ({"item": gas.manifold}, {"keg": gas.keg}):
            kind = "keg" if "keg" in thing else "manifold"
            check = "before_fill" if kind == "keg" else "yearly"
            services.record_check(check=check, results=results(kind, check), by=by, **thing)
    assert [queries_of(staff, url) for url in urls] == few
    assert Keg.objects.get().service == "in_use"


def test_the_gas_system_is_listed_as_the_gas_flows(staff, gas):
    connections = staff.get("/pressure/gas/").context["connections"]
    assert [(depth, str(each)) for depth, each in connections] == [
        (0, "Gas cylinder 1 to Regulator 1"),
        (1, "Regulator 1 to Manifold 1"),
        (2, "Manifold 1 to Keg K1"),
    ]


def test_an_item_offers_first_what_is_most_urgent_on_it(staff, an_item):
    hose = an_item("hose", "H9", marked_on=date(2010, 1, 1))
    page = staff.get(f"/pressure/items/{hose.pk}/").content.decode()
    assert f'btn-primary" href="/pressure/items/{hose.pk}/check/?check=replacement"' in page
