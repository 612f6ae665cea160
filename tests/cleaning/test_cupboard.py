"""Chemicals, batches, data sheets and pieces as people amend them: nothing is lost by it."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone

from kegsafe.cleaning import services
from kegsafe.cleaning.models import DataSheet
from kegsafe.frame.documents import NewDocument, stored_path
from kegsafe.ledger.services import last_sequence
from tests.builders import a_person, a_recorder, a_venue
from tests.cleaning.cycle_acts import a_cleaner, a_plan, a_sanitiser
from tests.query_counts import queries_of

pytestmark = pytest.mark.django_db

PDF = b"%PDF-1.4\n1 0 obj <<>> endobj\ntrailer <<>>\n%%EOF\n"


@pytest.fixture
def venue():
    return a_venue()


@pytest.fixture
def manager(client, venue):
    client.force_login(a_person(venue, "manager"))
    return client


@pytest.fixture
def cleaner(venue):
    return a_cleaner(venue)


def _page(client, path):
    answer = client.get(path)
    assert answer.status_code == 200, path
    return answer.content.decode()


def _as_shown(client, path):
    """Return what a form would send back if nobody touched it."""
    form = client.get(path).context["form"]
    sent = {}
    for field in form:
        value = field.value()
        if field.name == "needs_rinse":
            sent[field.html_name] = {True: "true", False: "false"}.get(value, "unknown")
        elif value is True:
            sent[field.html_name] = "on"
        elif value not in (None, False):
            sent[field.html_name] = getattr(value, "pk", value)
    return sent


def test_a_data_sheet_is_kept_with_its_chemical_and_handed_out_as_a_file(manager, cleaner):
    path = f"/cleaning/chemicals/{cleaner.chemical_id}/"
    assert "No safety data sheet is on file." in _page(manager, path)
    file = SimpleUploadedFile("cleaner.pdf", PDF, "application/pdf")
    manager.post(f"{path}sheet/", {"file": file, "revised_on": "2026-01-15"})
    sheet = DataSheet.objects.get(chemical=cleaner.chemical)
    assert "cleaner.pdf" in _page(manager, path)
    answer = manager.get(f"/cleaning/chemicals/sheets/{sheet.pk}/")
    assert b"".join(answer.streaming_content) == PDF
    assert answer["Content-Disposition"].startswith("attachment")
    assert answer["X-Content-Type-Options"] == "nosniff"


def test_a_page_sent_as_a_data_sheet_is_refused_at_the_field_and_not_kept(manager, cleaner):
    file = SimpleUploadedFile("sheet.pdf", b"<html><script>alert(1)</script></html>")
    answer = manager.post(f"/cleaning/chemicals/{cleaner.chemical_id}/sheet/", {"file": file})
    assert "no PDF, JPEG or PNG" in answer.context["form"].errors["file"][0]
    assert not DataSheet.objects.exists()


def test_a_data_sheet_is_not_handed_to_another_bar(manager, cleaner):
    elsewhere = a_venue()
    theirs = a_cleaner(elsewhere).chemical
    sheet = services.keep_data_sheet(
        chemical=theirs, sent=NewDocument("a.pdf", PDF), by=a_recorder(elsewhere)
    )
    assert manager.get(f"/cleaning/chemicals/sheets/{sheet.pk}/").status_code == 404


def test_a_newer_data_sheet_takes_the_place_of_the_last_and_both_stay(venue, cleaner):
    first, second = (
        services.keep_data_sheet(
            chemical=cleaner.chemical, sent=NewDocument(name, PDF), by=a_recorder(venue)
        )
        for name in ("2025.pdf", "2026.pdf")
    )
    assert list(cleaner.chemical.data_sheets.all()) == [second, first]
    assert stored_path(first).read_bytes() == PDF


def test_what_the_label_says_is_shown_as_it_would_be_typed_and_sent_back_unchanged(manager, venue):
    for batch in (a_cleaner(venue), a_sanitiser(venue, strip_blocks=["0", "50.5", "100"])):
        path = f"/cleaning/chemicals/{batch.chemical_id}/amend/"
        answer = manager.post(path, {**_as_shown(manager, path), "reason": "Nothing"})
        assert "Nothing is changed yet." in str(answer.context["form"].non_field_errors())


def test_an_amended_label_keeps_what_it_said_first(manager, cleaner):
    chemical = cleaner.chemical
    path = f"/cleaning/chemicals/{chemical.pk}/amend/"
    sent = {**_as_shown(manager, path), "in_use": "1.5 to 3 %", "reason": "New label"}
    manager.post(path, sent)
    chemical.refresh_from_db()
    assert chemical.label_at_least_mg_per_l == Decimal(15_000)
    assert chemical.label_at_most_mg_per_l == Decimal(30_000)
    assert chemical.stock_mg_per_l == Decimal(250_000)
    page = _page(manager, f"/cleaning/chemicals/{chemical.pk}/")
    assert "Reason: New label" in page
    assert "10000" in page


def test_a_chemical_taken_off_the_list_says_so(manager, cleaner):
    path = f"/cleaning/chemicals/{cleaner.chemical_id}/amend/"
    sent = {**_as_shown(manager, path), "reason": "Not bought any more"}
    del sent["is_listed"]
    manager.post(path, sent)
    cleaner.chemical.refresh_from_db()
    assert not cleaner.chemical.is_listed
    assert "off the list" in _page(manager, "/cleaning/chemicals/")


def test_a_label_somebody_else_amended_meanwhile_is_not_overwritten(manager, venue, cleaner):
    path = f"/cleaning/chemicals/{cleaner.chemical_id}/amend/"
    sent = {**_as_shown(manager, path), "supplier": "Harbour Depot", "reason": "Read again"}
    services.amend_chemical(
        chemical=cleaner.chemical, changes={"supplier": "Quay"}, reason="Typo", by=a_recorder(venue)
    )
    answer = manager.post(path, sent)
    assert "Somebody else changed this record" in str(answer.context["form"].non_field_errors())
    cleaner.chemical.refresh_from_db()
    assert cleaner.chemical.supplier == "Quay"


def test_a_batch_used_up_leaves_the_cupboard_and_stays_on_record(manager, cleaner):
    expires_on = timezone.localdate() + timedelta(days=200)
    seen = last_sequence(cleaner)
    sent = {"batch": "B1", "expires_on": expires_on, "is_finished": "on", "seen": seen}
    manager.post(f"/cleaning/chemicals/batches/{cleaner.pk}/amend/", {**sent, "reason": "Empty"})
    assert "No batch in the cupboard" in _page(manager, "/cleaning/chemicals/")
    assert "used up" in _page(manager, f"/cleaning/chemicals/{cleaner.chemical_id}/")


def test_a_piece_that_is_put_away_is_due_no_longer(manager, venue):
    a_plan(venue, "drip_tray")
    tray = services.add_item(venue=venue, name="Tray", kind="drip_tray", by=a_recorder(venue))
    assert ">Tray<" in _page(manager, "/cleaning/")
    path = f"/cleaning/equipment/{tray.pk}/amend/"
    sent = {**_as_shown(manager, path), "reason": "Broken"}
    del sent["is_active"]
    manager.post(path, sent)
    assert ">Tray<" not in _page(manager, "/cleaning/")
    assert "Reason: Broken" in _page(manager, f"/cleaning/equipment/{tray.pk}/")


def test_a_plan_used_no_longer_makes_nothing_due_and_can_be_taken_up_again(manager, venue):
    plan = a_plan(venue, "drip_tray")
    services.add_item(venue=venue, name="Tray", kind="drip_tray", by=a_recorder(venue))
    manager.post(f"/cleaning/plans/{plan.pk}/retire/", {"reason": "Trays are gone"})
    assert ">Tray<" not in _page(manager, "/cleaning/")
    assert "Trays are gone" in _page(manager, f"/cleaning/plans/{plan.pk}/")
    assert a_plan(venue, "drip_tray").version == 1


def test_the_chemicals_are_listed_by_the_same_queries_however_many_there_are(manager, venue):
    a_cleaner(venue)
    before = queries_of(manager, "/cleaning/chemicals/")
    for number in range(8):
        batch = a_cleaner(venue, name=f"Cleaner {number}")
        services.keep_data_sheet(
            chemical=batch.chemical, sent=NewDocument("a.pdf", PDF), by=a_recorder(venue)
        )
    assert queries_of(manager, "/cleaning/chemicals/") == before
