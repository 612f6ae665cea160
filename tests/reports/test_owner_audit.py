"""The owner's audit on paper says what its page says."""

from datetime import date
from decimal import Decimal
from io import BytesIO

import pytest
from django.urls import reverse
from pypdf import PdfReader

from kegsafe.pressure import services
from kegsafe.rules.pressure.checks import points_of
from tests.builders import a_keg, a_person, a_recorder, a_venue

pytestmark = pytest.mark.django_db


@pytest.fixture
def venue():
    """A bar with a failed relief valve, an overdue cylinder, twelve kegs and a small cellar."""
    bar = a_venue()
    by = a_recorder(bar)
    room = services.add_gas_room(venue=bar, name="Cellar", volume_m3=Decimal(40), by=by)
    services.add_item(
        venue=bar,
        kind="cylinder",
        name="C<b>2",
        room=room,
        cylinder_rule="us.3al",
        stamped_on=date(2015, 11, 1),
        charge_g=Decimal(10_000),
        by=by,
    )
    kegs = [a_keg(bar, name=f"K{number}") for number in range(1, 13)]
    valve = services.add_item(venue=bar, kind="relief_valve", name="RV1", keg=kegs[0], by=by)
    results = {point.key: "pass" for point in points_of("relief_valve", "before_fill")}
    services.record_check(
        item=valve, check="before_fill", results={**results, "lifts": "fail"}, by=by
    )
    return bar


@pytest.fixture
def printed(client, venue):
    client.force_login(a_person(venue, "owner"))
    answer = client.get(reverse("owner-audit-pdf"))
    assert answer["Content-Type"] == "application/pdf"
    return PdfReader(BytesIO(answer.content))


def words(printed):
    return " ".join(" ".join(page.extract_text() for page in printed.pages).split())


def test_it_says_what_failed_what_is_overdue_and_which_room_is_too_small(printed):
    text = words(printed)
    assert "Relief valve RV1: Lift, reseat, clean" in text
    assert "Stamped 2015-11; 5 years for DOT 3AL" in text
    assert "no refill; may be emptied" in text
    assert "49 CFR 180.209" in text
    assert "Too small: the largest cylinder makes 13.7 % of the air" in text


def test_what_people_typed_is_printed_and_never_obeyed(printed):
    assert "C<b>2" in words(printed)


def test_twelve_like_kegs_take_one_line(printed):
    # Three checks are due on each of them, and none has a paper on file.
    assert words(printed).count("Keg K1, K2, K3") == 4
    assert len(printed.pages) <= 2


def test_it_cautions_defers_and_names_the_record_it_was_made_from(printed, venue):
    text = words(printed)
    venue.chain.refresh_from_db()
    assert "A keg is under pressure" in text
    assert "they are right" in text
    assert f"Record at entry {venue.chain.head_sequence}" in text


def test_it_calls_nothing_safe(printed):
    text = words(printed).lower()
    assert not [word for word in ("compliant", "certified", " is safe", "approved") if word in text]


def test_page_and_paper_count_the_same(client, printed, venue):
    page = client.get(reverse("pressure-audit"))
    assert f"Due or not known: {page.context['audit'].count_asking}." in words(printed)


def test_every_font_is_in_the_file(printed):
    fonts = [font for page in printed.pages for font in page["/Resources"]["/Font"].values()]
    names = {font.get_object()["/BaseFont"] for font in fonts}
    assert all("DejaVu" in name for name in names)


def test_a_bar_in_metric_units_prints_on_a4(client):
    bar = a_venue("eu", "Europe/Paris", units="metric")
    client.force_login(a_person(bar, "owner"))
    page = PdfReader(BytesIO(client.get(reverse("owner-audit-pdf")).content)).pages[0]
    # ISO 216: A4 is 210 mm by 297 mm. [memory]
    assert round(float(page.mediabox.width) / 72 * 25.4) == 210


def test_staff_do_not_print_it(client, venue):
    client.force_login(a_person(venue, "staff"))
    assert client.get(reverse("owner-audit-pdf")).status_code == 403
