"""A photograph stays with the check it was taken at; a room keeps its own papers."""

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from kegsafe.frame.documents import NewDocument, stored_path
from kegsafe.ledger.verification import verify_records
from kegsafe.pressure import services
from kegsafe.pressure.models import Check, CheckPhotograph, Document
from tests.builders import a_person, a_venue
from tests.pressure.pictures import a_picture
from tests.pressure.point_results import results
from tests.pressure.test_uploads import PDF, SVG, stored_files

pytestmark = pytest.mark.django_db


@pytest.fixture
def hose(an_item):
    return an_item("hose")


@pytest.fixture
def staff(client, venue):
    client.force_login(a_person(venue, "staff"))
    return client


def looked(hose, by, **values):
    values = {"results": results("hose", "look", failed="wall"), **values}
    return services.record_check(item=hose, check="look", by=by, **values)


def a_file(content=None, name="crack.jpg"):
    return SimpleUploadedFile(name, content or a_picture("JPEG"), "image/jpeg")


def test_a_photograph_is_sent_with_the_check(staff, hose):
    sent = {**results("hose", "look", failed="wall"), "file": a_file()}
    answer = staff.post(reverse("pressure-item-check", args=[hose.pk]) + "?check=look", sent)
    assert answer.status_code == 302
    kept = CheckPhotograph.objects.get()
    assert kept.of_check == Check.objects.get()
    page = staff.get(kept.of_check.get_absolute_url()).content.decode()
    assert "crack.jpg" in page
    answer = staff.get(reverse("pressure-photograph", args=[kept.pk]))
    assert b"".join(answer.streaming_content) == a_picture("JPEG")
    assert answer["Content-Disposition"].startswith("attachment")
    assert answer["X-Content-Type-Options"] == "nosniff"


@pytest.mark.parametrize(
    ("content", "said"),
    [(PDF, "This is a PDF"), (SVG, "no PDF, JPEG or PNG"), (b"GIF89a" + b"0" * 9, "no PDF, JPEG")],
    ids=["a PDF", "a drawing with a script", "another kind of picture"],
)
def test_a_file_that_is_no_photograph_leaves_neither_file_nor_check(staff, hose, content, said):
    before = stored_files()
    sent = {**results("hose", "look"), "comment": "Looked twice", "file": a_file(content)}
    answer = staff.post(reverse("pressure-item-check", args=[hose.pk]) + "?check=look", sent)
    form = answer.context["form"]
    assert said in form.errors["file"][0]
    assert form["comment"].value() == "Looked twice"
    assert (Check.objects.count(), CheckPhotograph.objects.count()) == (0, 0)
    assert stored_files() == before


def test_one_more_is_added_to_a_check_later(staff, hose, by):
    check = looked(hose, by)
    url = reverse("pressure-check-photograph", args=[check.pk])
    assert staff.post(url, {"file": a_file()}).url == check.get_absolute_url()
    assert staff.post(url, {"file": a_file(a_picture("PNG"), "b.png")}).status_code == 302
    names = [each.name for each in check.photographs.all()]
    assert names == ["crack.jpg", "b.png"]


def test_the_ledger_holds_each_photograph_with_its_check(hose, by):
    check = looked(hose, by, photograph=NewDocument("crack.png", a_picture()))
    [kept] = check.photographs.all()
    assert stored_path(kept).read_bytes() == a_picture()
    assert list(verify_records()) == []


def test_another_bars_photograph_is_not_found(client, hose, by):
    check = looked(hose, by, photograph=NewDocument("crack.png", a_picture()))
    client.force_login(a_person(a_venue(name="The Tin Heron"), "owner"))
    [kept] = check.photographs.all()
    assert client.get(reverse("pressure-photograph", args=[kept.pk])).status_code == 404


def test_a_photograph_that_is_no_picture_is_refused_by_the_service_too(hose, by):
    with pytest.raises(ValidationError, match="This is a PDF"):
        services.keep_check_photograph(
            check=looked(hose, by), sent=NewDocument("a.pdf", PDF), by=by
        )


def test_the_report_on_a_rooms_ventilation_is_kept_with_the_room(staff, venue, by):
    cellar = services.add_gas_room(venue=venue, name="Cellar", by=by)
    url = reverse("gas-room-document", args=[cellar.pk])
    sent = {"kind": "report", "file": a_file(PDF, "ventilation.pdf")}
    assert staff.post(url, sent).url == cellar.get_absolute_url()
    assert Document.objects.get().room == cellar
    page = staff.get(cellar.get_absolute_url()).content.decode()
    assert "ventilation.pdf" in page
    assert url in page


def test_an_inspector_sees_the_papers_of_a_room_and_adds_none(client, venue, by):
    cellar = services.add_gas_room(venue=venue, name="Cellar", by=by)
    client.force_login(a_person(venue, "inspector"))
    url = reverse("gas-room-document", args=[cellar.pk])
    assert url not in client.get(cellar.get_absolute_url()).content.decode()
    assert client.get(url).status_code == 403
