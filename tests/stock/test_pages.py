"""The pages of the stock room: who may do what, what they show, what they cost."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from kegsafe.equipment.models import Place
from kegsafe.ledger.services import last_sequence
from kegsafe.stock import services
from kegsafe.stock.importing.delivery_file import sample
from kegsafe.stock.models import Delivery, DeliveryFile, Ingredient, Lot, Supplier
from kegsafe.venues.models import Role
from tests.builders import a_lot, a_place, a_supplier, an_ingredient

STAFF, MANAGER, INSPECTOR = Role.STAFF, Role.MANAGER, Role.INSPECTOR


@pytest.fixture
def manager(signed_in):
    return signed_in(MANAGER)


@pytest.fixture
def staff(signed_in):
    return signed_in(STAFF)


def a_delivery_form(venue, **changes) -> dict[str, object]:
    """A delivery of one lot, as the page sends it."""
    return {
        "supplier": Supplier.objects.filter(venue=venue).first().pk,
        "document": "DN-1",
        "received_at": "",
        "lot-TOTAL_FORMS": "1",
        "lot-INITIAL_FORMS": "0",
        "lot-0-ingredient": "lime juice",
        "lot-0-quantity": "5 L",
        "lot-0-supplier_lot_code": "L26097",
        "lot-0-date_kind": "use_by",
        "lot-0-date_on": (timezone.localdate() + timedelta(days=5)).isoformat(),
        "lot-0-arrival_temperature": "3.5 °C",
        "lot-0-place": "",
        "lot-0-decision": "accept",
        "lot-0-decided_because": "",
        **changes,
    }


@pytest.fixture
def bar(venue):
    a_supplier(venue, name="Harbour Fruit Company")
    an_ingredient(venue, name="Lime juice", category="acid_citrus_juice")
    a_place(venue, name="Walk-in", kind=Place.Kind.WALK_IN)
    return venue


# Receiving


def test_staff_receive_a_delivery_in_one_form(bar, staff):
    answer = staff.post(reverse("delivery-add"), a_delivery_form(bar))
    lot = Lot.objects.select_related("ingredient", "delivery").get()
    assert answer.url == lot.delivery.get_absolute_url()
    assert (str(lot.ingredient), lot.amount_received, lot.amount_typed) == (
        "Lime juice",
        Decimal(5000),
        "5 L",
    )
    assert lot.arrival_temperature_degc == Decimal("3.50")


def test_several_lots_come_in_with_one_form_and_empty_lines_do_not_count(bar, staff):
    form = a_delivery_form(
        bar,
        **{
            "lot-TOTAL_FORMS": "3",
            "lot-1-ingredient": "Lime juice",
            "lot-1-quantity": "700 ml",
            "lot-1-date_kind": "none",
            "lot-1-decision": "reject",
            "lot-1-decided_because": "Leaking",
            "lot-2-decision": "accept",
        },
    )
    staff.post(reverse("delivery-add"), form)
    assert sorted(Lot.objects.values_list("status", "status_reason")) == [
        ("accepted", ""),
        ("rejected", "Leaking"),
    ]


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("ingredient", "Lime jiuce", "Did you mean Lime juice?"),
        ("quantity", "5", "has no unit"),
        ("quantity", "5 kg", "a volume belongs here"),
        ("quantity", "0 L", "is nothing"),
        ("date_kind", "", "Choose one"),
        ("date_kind", "none", ""),
        ("date_on", "", "Enter the date on the pack"),
        ("date_on", "04/05/2026", "Write year-month-day"),
        ("arrival_temperature", "3", "has no unit"),
        ("decision", "reject", ""),
        ("decided_because", "Wet", "Choose Hold or Reject, or empty it"),
    ],
)
def test_a_mistyped_line_says_what_is_wrong_and_keeps_what_was_typed(
    bar, staff, field, typed, said
):
    answer = staff.post(reverse("delivery-add"), a_delivery_form(bar, **{f"lot-0-{field}": typed}))
    [errors] = answer.context["lines"].errors
    assert said in " ".join(str(each) for found in errors.values() for each in found)
    assert errors
    assert 'value="L26097"' in answer.content.decode()
    assert not Delivery.objects.exists()


def test_another_line_is_added_without_losing_or_judging_what_was_typed(bar, staff):
    half_typed = a_delivery_form(bar, **{"lot-0-quantity": "5", "more": "1"})
    answer = staff.post(reverse("delivery-add"), half_typed)
    page = answer.content.decode()
    assert 'name="lot-1-ingredient"' in page
    assert 'value="L26097"' in page
    assert "has no unit" not in page
    assert not Delivery.objects.exists()


@pytest.mark.parametrize("count", ["x", "-1", "1" * 400, ""])
def test_a_forged_count_of_lines_breaks_nothing(bar, staff, count):
    for more in ({}, {"more": "1"}):
        form = a_delivery_form(bar, **{"lot-TOTAL_FORMS": count}, **more)
        assert staff.post(reverse("delivery-add"), form).status_code == 200


def test_an_ingredient_out_of_use_is_neither_offered_nor_taken(bar, staff):
    Ingredient.objects.update(is_active=False)
    assert '<option value="Lime juice">' not in staff.get(reverse("delivery-add")).content.decode()
    answer = staff.post(reverse("delivery-add"), a_delivery_form(bar))
    assert "out of use" in str(answer.context["lines"].errors)


# A lot


def test_opened_now_is_one_press(venue, staff):
    lot = a_lot(venue)
    assert "Opened now" in staff.get(lot.get_absolute_url()).content.decode()
    assert staff.post(reverse("lot-open", args=[lot.pk])).url == lot.get_absolute_url()
    lot.refresh_from_db()
    assert timezone.now() - lot.opened_at < timedelta(minutes=1)


def test_a_moment_to_come_is_refused_at_its_field(venue, staff):
    lot = a_lot(venue)
    answer = staff.post(reverse("lot-open", args=[lot.pk]), {"opened_at": "2099-01-01T10:00"})
    assert "has not come yet" in answer.context["form"].errors["opened_at"][0]


def test_a_hold_without_a_reason_says_so_at_the_field(venue, staff):
    lot = a_lot(venue)
    answer = staff.post(reverse("lot-hold", args=[lot.pk]), {"reason": ""})
    assert answer.context["form"].errors["reason"] == ["Say why: a few words are enough."]


def test_a_lot_shows_its_date_its_reason_and_what_is_left(venue, by, staff):
    lot = a_lot(venue, use_by=venue.local(timezone.now()).date() + timedelta(days=1))
    services.draw_from_lot(lot=lot, amount=Decimal(250), drawn_at=timezone.now(), by=by)
    page = staff.get(lot.get_absolute_url()).content.decode()
    assert "Ends soon" in page
    assert "The use-by of" in page
    assert "25.36 fl oz (750 ml)" in page


def test_an_inspector_is_offered_no_act(venue, signed_in):
    page = signed_in(INSPECTOR).get(a_lot(venue).get_absolute_url()).content.decode()
    assert "Opened now" not in page
    assert "/hold/" not in page


def test_a_lot_amended_by_two_at_once_keeps_the_first_change(venue, by, manager):
    lot = a_lot(venue)
    seen = last_sequence(lot)
    services.open_lot(lot=lot, opened_at=timezone.now(), by=by)
    form = {
        "amount": "900 ml",
        "date_kind": "none",
        "supplier_lot_code": "L1",
        "reason": "Misread",
        "seen": seen,
    }
    answer = manager.post(reverse("lot-amend", args=[lot.pk]), form)
    assert "Somebody else changed this record" in str(answer.context["form"].errors)


@pytest.mark.parametrize(
    ("stand", "shown"),
    [
        ("", {"Fresh", "Soon", "Past", "Held"}),
        ("ends_soon", {"Soon"}),
        ("past", {"Past"}),
        ("on_hold", {"Held"}),
        ("in_date", {"Fresh"}),
        ("all", {"Fresh", "Soon", "Past", "Held", "Gone"}),
        ("nonsense", {"Fresh", "Soon", "Past", "Held"}),
    ],
)
def test_lots_are_narrowed_by_how_they_stand(venue, by, staff, stand, shown):
    today = venue.local(timezone.now()).date()
    days = {"Fresh": 9, "Soon": 1, "Past": -1, "Held": 9, "Gone": 9}
    lots = {
        name: a_lot(
            venue, ingredient=an_ingredient(venue, name=name), use_by=today + timedelta(days=left)
        )
        for name, left in days.items()
    }
    services.hold_lot(lot=lots["Held"], reason="Cap loose", by=by)
    services.discard_lot(lot=lots["Gone"], reason="Mould", by=by)
    answer = staff.get(reverse("lots"), {"stand": stand})
    assert {str(each.lot.ingredient) for each in answer.context["standings"]} == shown


def test_what_ends_first_stands_on_top(venue, staff):
    today = venue.local(timezone.now()).date()
    for days in (9, 2, 5):
        a_lot(venue, use_by=today + timedelta(days=days))
    ends = [each.ends_at for each in staff.get(reverse("lots")).context["standings"]]
    assert ends == sorted(ends)


@pytest.mark.parametrize("words", ["lime", "L26", "Harbour", "100%_"])
def test_a_lot_is_found_by_ingredient_code_or_supplier(bar, staff, words):
    staff.post(reverse("delivery-add"), a_delivery_form(bar))
    found = staff.get(reverse("lots"), {"q": words}).context["standings"]
    assert len(found) == (0 if words == "100%_" else 1)


# From a file


def send(client, content: bytes, name: str = "april.csv"):
    return client.post(reverse("delivery-import"), {"file": SimpleUploadedFile(name, content)})


def test_a_file_is_shown_first_and_imported_when_confirmed(bar, manager):
    preview_url = send(manager, sample().encode()).url
    preview = manager.get(preview_url)
    assert not Lot.objects.exists()
    assert "Import 1 lot" in preview.content.decode()
    done = manager.post(preview_url, {"looked_at": preview.context["plan"].token}, follow=True)
    assert "Recorded: 1 lot was imported." in done.content.decode()
    assert Lot.objects.count() == 1
    assert "1 is in stock already" in manager.get(preview_url).content.decode()


def test_a_confirmation_of_something_else_imports_nothing(bar, manager):
    preview_url = send(manager, sample().encode()).url
    for looked_at in ("", "0" * 64):
        answer = manager.post(preview_url, {"looked_at": looked_at}, follow=True)
        assert "Look at the rows again" in answer.content.decode()
    assert not Lot.objects.exists()


def test_markup_in_a_file_is_shown_as_text(bar, manager):
    content = sample().replace("Lime juice", "<script>alert(1)</script>").encode()
    page = manager.get(send(manager, content, "<b>.csv").url).content.decode()
    assert "<script>alert(1)" not in page
    assert "&lt;script&gt;alert(1)" in page
    assert "<b>.csv" not in page


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "The file is empty"),
        (b"\x89PNG\x00", "no text file"),
        (b"a" * (5 * 1024 * 1024 + 1), "at most 5 MB"),
        (b"a,b\n1,2", "lacks: date_received"),
    ],
    ids=["empty", "binary", "too large", "another layout"],
)
def test_a_file_that_cannot_be_read_says_why_at_its_field(bar, manager, content, said):
    answer = send(manager, content)
    assert said in " ".join(answer.context["form"].errors["file"])
    assert not DeliveryFile.objects.exists()


def test_no_file_at_all_says_so(manager):
    answer = manager.post(reverse("delivery-import"), {})
    assert answer.context["form"].errors["file"]


def test_the_sample_can_be_fetched_and_sent_back(bar, manager):
    fetched = manager.get(reverse("delivery-sample"))
    assert fetched["Content-Disposition"] == 'attachment; filename="deliveries-sample.csv"'
    preview = manager.get(send(manager, fetched.content).url)
    assert len(preview.context["plan"].new) == 1


# What was forgotten, and what was judged


def test_a_lot_that_was_left_out_is_added_to_its_delivery(bar, staff):
    staff.post(reverse("delivery-add"), a_delivery_form(bar))
    delivery = Delivery.objects.get()
    address = reverse("delivery-lots", args=[delivery.pk])
    assert address in staff.get(delivery.get_absolute_url()).content.decode()
    answer = staff.post(address, a_delivery_form(bar, **{"lot-0-supplier_lot_code": "L26098"}))
    assert answer.url == delivery.get_absolute_url()
    assert [lot.supplier_lot_code for lot in delivery.lots.order_by("pk")] == ["L26097", "L26098"]
    assert delivery.lots.values("code").distinct().count() == 2


def test_another_line_can_be_asked_for_before_the_forgotten_lots_are_sent(bar, staff):
    staff.post(reverse("delivery-add"), a_delivery_form(bar))
    address = reverse("delivery-lots", args=[Delivery.objects.get().pk])
    answer = staff.post(address, a_delivery_form(bar, more="1"))
    assert answer.context["lines"].total_form_count() == 2
    assert Lot.objects.count() == 1


def test_a_lot_leads_to_its_label_while_something_is_left_of_it(bar, staff, by):
    lot = a_lot(bar)
    address = reverse("lot-label", args=[lot.pk])
    assert address in staff.get(lot.get_absolute_url()).content.decode()
    services.discard_lot(lot=lot, reason="Split bag", by=by)
    assert address not in staff.get(lot.get_absolute_url()).content.decode()


@pytest.fixture
def assessment(bar, by):
    return services.add_assessment(
        venue=bar,
        ingredient=Ingredient.objects.get(),
        reference="Report 7",
        scope="Lime juice, pressed and filtered here",
        competent_person="Dr A. Moss",
        role="food technologist",
        assessed_on=timezone.localdate() - timedelta(days=30),
        study="Lab 12",
        by=by,
    )


def test_every_judgement_is_listed_with_what_rests_on_it(assessment, staff):
    page = staff.get(reverse("assessments")).content.decode()
    assert "Report 7" in page
    assert "Dr A. Moss, food technologist" in page
    assert ">Lime juice</a>" in page


def test_a_manager_lets_a_judgement_end_and_says_why(assessment, manager):
    yesterday = assessment.venue.local(timezone.now()).date() - timedelta(days=1)
    answer = manager.post(
        reverse("assessment-amend", args=[assessment.pk]),
        {
            "reference": "Report 7",
            "scope": assessment.scope,
            "expires_on": yesterday.isoformat(),
            "reason": "The press was changed.",
            "seen": last_sequence(assessment),
        },
    )
    assert answer.url == reverse("assessments")
    assessment.refresh_from_db()
    assert assessment.expires_on == yesterday
    assert '<span class="tag">ended</span>' in manager.get(answer.url).content.decode()


def test_a_judgement_cannot_end_before_it_was_made(assessment, manager):
    typed = {
        "reference": "Report 7",
        "scope": assessment.scope,
        "expires_on": (assessment.assessed_on - timedelta(days=1)).isoformat(),
        "reason": "Slip",
        "seen": last_sequence(assessment),
    }
    answer = manager.post(reverse("assessment-amend", args=[assessment.pk]), typed)
    assert "is before the assessment" in answer.context["form"].errors["expires_on"][0]


def test_amending_a_lot_leaves_it_where_it_stands_though_that_place_is_out_of_use(bar, manager, by):
    place = Place.objects.get()
    lot = a_lot(bar, place=place)
    Place.objects.update(is_active=False)
    address = reverse("lot-amend", args=[lot.pk])
    form = manager.get(address).context["form"]
    shown = {name: form[name].value() or "" for name in form.fields}
    typed = {**shown, "amount": "1 L", "supplier_lot_code": "L9", "reason": "Read it again."}
    assert manager.post(address, typed).status_code == 302
    lot.refresh_from_db()
    assert (lot.supplier_lot_code, lot.place) == ("L9", place)
