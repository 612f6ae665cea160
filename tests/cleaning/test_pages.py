"""The cleaning log as the people of a bar use it."""

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
from django.utils import timezone

from kegsafe.cleaning.models import CleaningRecord
from kegsafe.cleaning.services import record_clean
from kegsafe.equipment.services import begin_use
from tests.builders import a_keg, a_line, a_person, a_recorder, a_venue
from tests.query_counts import queries_of

pytestmark = pytest.mark.django_db
METHOD = "Caustic 2 %, 15 min; rinse"


@pytest.fixture
def venue():
    return a_venue()


@pytest.fixture
def staff(client, venue):
    client.force_login(a_person(venue, "staff", name="jonas"))
    return client


@pytest.fixture
def manager(client, venue):
    client.force_login(a_person(venue, "manager"))
    return client


def _typed(*items, **more):
    return {"items": items, "method": METHOD, "verification": "none", **more}


def _errors(answer):
    return {name: " ".join(found) for name, found in answer.context["form"].errors.items()}


def _a_clean(venue, **item):
    return record_clean(
        venue=venue,
        cleaned_at=timezone.now(),
        method=METHOD,
        sanitised=False,
        is_allergen_clean=False,
        verification="none",
        by=a_recorder(venue),
        **(item or {"keg": a_keg(venue)}),
    )


def test_kegs_and_lines_cleaned_alike_are_recorded_at_once_for_now(staff, venue):
    keg, line = a_keg(venue), a_line(venue)
    before = timezone.now()
    staff.post("/cleaning/record/", _typed(f"keg-{keg.pk}", f"line-{line.pk}", sanitised="on"))
    cleans = CleaningRecord.objects.all()
    assert {clean.keg or clean.line for clean in cleans} == {keg, line}
    assert all(clean.cleaned_at >= before and clean.sanitised for clean in cleans)
    assert {clean.recorded_by for clean in cleans} == {"jonas"}


def test_a_time_is_read_in_the_zone_of_the_venue(staff, venue):
    keg = a_keg(venue)
    staff.post("/cleaning/record/", _typed(f"keg-{keg.pk}", cleaned_at="2026-04-07T18:30"))
    expected = datetime(2026, 4, 7, 18, 30, tzinfo=ZoneInfo("America/New_York"))
    assert CleaningRecord.objects.get().cleaned_at == expected


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("2026-11-01T01:30", "comes twice or not at all"),
        ("2026-03-08T02:30", "comes twice or not at all"),
        ("2999-01-01T00:00", "still to come"),
        ("yesterday", "no date and time"),
    ],
)
def test_a_time_that_is_none_is_told_at_the_field(staff, venue, typed, said):
    """The clocks of New York change on 8 March and 1 November 2026: IANA time zone database."""
    keg = a_keg(venue)
    answer = staff.post("/cleaning/record/", _typed(f"keg-{keg.pk}", cleaned_at=typed))
    assert said in _errors(answer)["cleaned_at"]
    assert METHOD in answer.content.decode()


def test_a_full_keg_is_named_and_not_offered(staff, venue):
    keg = a_keg(venue, name="K7")
    begin_use(
        keg=keg,
        drink="Paloma",
        allergens=[],
        carried_over=[],
        began_at=timezone.now(),
        by=a_recorder(venue),
    )
    page = staff.get("/cleaning/record/").content.decode()
    assert "Keg K7 still holds Paloma: empty it first" in page
    assert f'value="keg-{keg.pk}"' not in page
    answer = staff.post("/cleaning/record/", _typed(f"keg-{keg.pk}"))
    assert "cannot be cleaned now" in _errors(answer)["items"]


def test_nothing_ticked_says_so(staff):
    answer = staff.post("/cleaning/record/", _typed())
    assert _errors(answer)["items"] == "Tick at least one keg or line."


def test_the_keg_one_came_from_is_ticked(staff, venue):
    keg = a_keg(venue)
    page = staff.get(f"/cleaning/record/?keg={keg.pk}")
    assert page.context["form"]["items"].value() == [f"keg-{keg.pk}"]


def test_the_usual_cautions_stand_before_the_form(staff):
    page = staff.get("/cleaning/record/").content.decode()
    for caution in ("Relieve the pressure", "Cover eyes and hands", "Acid and chlorine never"):
        assert caution in page


def test_the_newest_clean_stands_first_and_each_says_whether_it_was_verified(staff, venue):
    for name in ("K1", "K2"):
        _a_clean(venue, keg=a_keg(venue, name=name))
    page = staff.get("/cleaning/records/").content.decode()
    assert page.index(">Keg K2</a>") < page.index(">Keg K1</a>")
    assert "Not verified" in page


def test_cleans_are_found_by_item_and_words(staff, venue):
    keg, line = a_keg(venue), a_line(venue)
    _a_clean(venue, keg=keg)
    _a_clean(venue, line=line)
    for query, expected in (
        ({"item": f"line-{line.pk}"}, [line]),
        ({"item": f"keg-{keg.pk}", "q": "caustic"}, [keg]),
        ({"q": "no such word"}, []),
        ({"item": "keg-999999"}, [line, keg]),
    ):
        found = staff.get("/cleaning/records/", query).context["page"]
        assert [clean.keg or clean.line for clean in found] == expected


def test_a_manager_amends_and_the_first_words_stay(manager, venue):
    clean = _a_clean(venue)
    url = f"/cleaning/{clean.pk}/amend/"
    form = manager.get(url).context["form"]
    shown = {name: form[name].value() for name in ("method", "verification", "seen")}
    at = timezone.localtime(clean.cleaned_at, venue.zone).strftime("%Y-%m-%dT%H:%M")
    typed = {**shown, "cleaned_at": at, "method": "Acid 1 %", "reason": "Wrong line"}
    assert manager.post(url, typed).status_code == 302
    amended = CleaningRecord.objects.get()
    assert (amended.method, amended.cleaned_at) == ("Acid 1 %", clean.cleaned_at)
    assert METHOD in manager.get(f"/cleaning/{clean.pk}/").content.decode()


def test_a_log_of_two_hundred_takes_as_many_queries_as_one_of_ten(staff, venue):
    for _each in range(10):
        _a_clean(venue)
    few = queries_of(staff, "/cleaning/records/")
    for _each in range(190):
        _a_clean(venue)
    assert queries_of(staff, "/cleaning/records/") == few
    assert few <= 6


def test_cleans_of_another_venue_are_not_found(manager):
    theirs = _a_clean(a_venue(name="Elsewhere"))
    for url in (f"/cleaning/{theirs.pk}/", f"/cleaning/{theirs.pk}/amend/"):
        assert manager.get(url).status_code == 404
    assert manager.post(f"/cleaning/{theirs.pk}/amend/", {"method": "Mine"}).status_code == 404
    assert list(manager.get("/cleaning/records/").context["page"]) == []


def test_a_keg_of_another_venue_is_not_cleaned_here(staff):
    theirs = a_keg(a_venue(name="Elsewhere"))
    answer = staff.post("/cleaning/record/", _typed(f"keg-{theirs.pk}"))
    assert "cannot be cleaned now" in _errors(answer)["items"]
