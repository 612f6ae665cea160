"""How much an earlier drink may have left: shown beside 'may contain', whatever it comes to."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from kegsafe.cleaning import services
from kegsafe.equipment.services import add_line, begin_use, end_use
from tests.builders import a_keg, a_line, a_person, a_recorder, a_venue
from tests.cleaning.cycle_acts import Cleaner, a_plan
from tests.query_counts import queries_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def venue():
    return a_venue()


@pytest.fixture
def inspector(client, venue):
    client.force_login(a_person(venue, "inspector"))
    return client


def _held_almond(venue, **piece):
    by = a_recorder(venue)
    began_at = timezone.now() - timedelta(days=2)
    use = begin_use(
        drink="Almond Drift",
        allergens=["almond"],
        carried_over=[],
        began_at=began_at,
        by=by,
        **piece,
    )
    end_use(use, ended_at=began_at + timedelta(days=1), by=by)


def _page(client, path, **figures):
    answer = client.get(path, figures)
    assert answer.status_code == 200
    return answer.content.decode()


def test_a_line_of_sixty_millilitres_shows_the_worked_residue(inspector, venue):
    """Line 60 ml, 3 mg/ml, 300 ml of rinse: 1.213 mg against 1 mg of almond. [computed]"""
    line = a_line(venue)
    _held_almond(venue, line=line)
    page = _page(
        inspector,
        f"/cleaning/lines/{line.pk}/left/",
        volume="60 ml",
        protein="3 g/L",
        rinse="300 ml",
    )
    assert "may contain almond" in page
    assert "1.213 mg" in page
    assert "at or above the reference dose of 1 mg" in page


def test_a_rinse_that_leaves_next_to_nothing_leaves_the_statement(inspector, venue):
    line = a_line(venue)
    _held_almond(venue, line=line)
    page = _page(inspector, f"/cleaning/lines/{line.pk}/left/", volume="60 ml", rinse="9 L")
    assert "May contain almond." in page
    assert "The statement stands until an allergen clean with its test is on record." in page


def test_before_anything_is_typed_no_rinse_is_taken_for_done(inspector, venue):
    line = add_line(
        venue=venue,
        name="1",
        metal="stainless",
        inner_diameter_mm=Decimal("4.8"),
        length_m=Decimal("2.4"),
        by=a_recorder(venue),
    )
    _held_almond(venue, line=line)
    assert "at or above the reference dose" in _page(inspector, f"/cleaning/lines/{line.pk}/left/")


def test_a_line_of_unknown_volume_asks_for_it_at_the_field(inspector, venue):
    line = a_line(venue)
    _held_almond(venue, line=line)
    page = _page(inspector, f"/cleaning/lines/{line.pk}/left/")
    assert "Nothing can be worked out yet." in page
    assert "may contain almond" in page


def test_a_keg_shows_the_worked_heel(inspector, venue):
    """30 ml of 3 mg/ml under 19 l: 0.711 mg in a pour of 150 ml. [computed]"""
    keg = a_keg(venue, capacity_ml=Decimal(19_000))
    _held_almond(venue, keg=keg)
    page = _page(inspector, f"/cleaning/kegs/{keg.pk}/left/", heel="30 ml", protein="3 g/L")
    assert "0.711 mg" in page
    assert "below the reference dose of 1 mg; film and dead legs can hold more" in page


def test_after_a_tested_allergen_clean_nothing_is_left_and_nothing_is_promised(inspector, venue):
    line, ana = a_line(venue), a_recorder(venue, "ana")
    _held_almond(venue, line=line)
    jonas = Cleaner(venue)
    (cycle,) = jonas.starts(a_plan(venue, "line.allergen"), line)
    cycle = jonas.does_all(cycle)
    services.verify_cycle(cycle=cycle, by=ana)
    page = _page(inspector, f"/cleaning/lines/{line.pk}/left/")
    assert "No allergenic source of an earlier drink is on record as left in it." in page
    assert "no promise of absence" in page


def test_the_page_takes_the_same_queries_whatever_went_through(inspector, venue):
    line = a_line(venue)
    _held_almond(venue, line=line)
    path = f"/cleaning/lines/{line.pk}/left/"
    few = queries_of(inspector, path)
    jonas, plan = Cleaner(venue), a_plan(venue)
    for _ in range(3):
        (cycle,) = jonas.starts(plan, line)
        jonas.does_all(cycle)
    assert queries_of(inspector, path) == few
