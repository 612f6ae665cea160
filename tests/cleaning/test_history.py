"""What a keg or line brings to the next drink."""

from datetime import timedelta

import pytest
from django.utils import timezone

from kegsafe.cleaning.models import CleaningRecord
from kegsafe.cleaning.queries import history_of
from kegsafe.cleaning.services import record_clean
from kegsafe.equipment.services import begin_use, end_use
from tests.builders import a_keg, a_line, a_recorder, a_venue

pytestmark = pytest.mark.django_db
SWAB = CleaningRecord.Verification.PROTEIN_SWAB
NOT_VERIFIED = CleaningRecord.Verification.NONE
NOW = timezone.now()


def _hours_ago(hours):
    return NOW - timedelta(hours=hours)


@pytest.fixture
def keg():
    return a_keg(a_venue(), name="K7")


@pytest.fixture
def held(keg):
    """Let the keg hold a drink for a while."""

    def hold(drink, *allergens, left=(), began=10, ended=8):
        by = a_recorder(keg.venue)
        use = begin_use(
            keg=keg,
            drink=drink,
            allergens=allergens,
            carried_over=left,
            began_at=_hours_ago(began),
            by=by,
        )
        if ended is not None:
            end_use(use, ended_at=_hours_ago(ended), by=by)

    return hold


@pytest.fixture
def cleaned(keg):
    """Clean the keg."""

    def clean(hours, *, allergen_clean=True, verification=SWAB, sanitised=True):
        record_clean(
            venue=keg.venue,
            keg=keg,
            cleaned_at=_hours_ago(hours),
            method="As the house plan says",
            sanitised=sanitised,
            is_allergen_clean=allergen_clean,
            verification=verification,
            by=a_recorder(keg.venue),
        )

    return clean


def test_a_new_keg_held_nothing_and_was_never_cleaned(keg):
    history = history_of(keg=keg)
    assert (history.name, history.previous_drink, history.cleaned_at) == ("Keg K7", None, None)
    assert history.residue == frozenset()


def test_the_last_drink_and_what_it_was_left_are_what_stays_in_the_keg(keg, held):
    held("Orgeat sour", "almond", left=["milk"])
    history = history_of(keg=keg)
    assert (history.previous_drink, history.previous_use_ended_at) == (
        "Orgeat sour",
        _hours_ago(8),
    )
    assert history.residue == {"almond", "milk"}


@pytest.mark.parametrize(
    ("hours", "allergen_clean", "verification"),
    [
        (7, False, SWAB),
        (7, True, NOT_VERIFIED),
        (11, True, SWAB),
    ],
    ids=["only sanitised", "not verified", "before the drink"],
)
def test_a_clean_that_does_not_count_leaves_the_allergens(
    keg, held, cleaned, hours, allergen_clean, verification
):
    """Regulation (EC) 852/2004 as amended by (EU) 2021/382: cleaned and checked. [second-hand]"""
    held("Orgeat sour", "almond")
    cleaned(hours, allergen_clean=allergen_clean, verification=verification)
    assert history_of(keg=keg).residue == {"almond"}


def test_a_verified_allergen_clean_after_the_drink_removes_them(keg, held, cleaned):
    held("Orgeat sour", "almond", left=["milk"])
    cleaned(8)
    assert history_of(keg=keg).residue == frozenset()


def test_a_plain_clean_after_the_allergen_clean_brings_nothing_back(keg, held, cleaned):
    held("Orgeat sour", "almond")
    cleaned(7)
    cleaned(6, allergen_clean=False, sanitised=False)
    history = history_of(keg=keg)
    assert history.residue == frozenset()
    assert history.cleaned_at == _hours_ago(6)


def test_while_a_drink_is_in_nothing_is_removed(keg, held, cleaned):
    cleaned(11)
    held("Orgeat sour", "almond", ended=None)
    history = history_of(keg=keg)
    assert history.previous_use_ended_at is None
    assert history.residue == {"almond"}


def test_what_the_keg_brought_to_a_drink_leaves_that_drink_out(keg, held, cleaned):
    held("Orgeat sour", "almond", began=20, ended=18)
    held("Paloma", "celery", left=["almond"], began=10, ended=8)
    cleaned(7)
    history = history_of(keg=keg, before=_hours_ago(10))
    assert (history.previous_drink, history.residue) == ("Orgeat sour", {"almond"})
    assert history.cleaned_at is None


def test_a_line_has_a_memory_of_its_own(keg):
    line = a_line(keg.venue, name="L2")
    assert history_of(line=line).name == "Line L2"


@pytest.mark.parametrize("how_many", ["none", "both"])
def test_a_history_is_of_one_thing(keg, how_many):
    asked = {} if how_many == "none" else {"keg": keg, "line": a_line(keg.venue)}
    with pytest.raises(ValueError, match="one keg or of one line"):
        history_of(**asked)


def test_a_long_life_takes_as_many_queries_as_none(keg, held, cleaned, django_assert_num_queries):
    with django_assert_num_queries(2):
        history_of(keg=keg)
    for week in range(1, 20):
        held("Paloma", "celery", began=1000 - 10 * week, ended=1000 - 10 * week - 5)
        cleaned(1000 - 10 * week - 6)
    with django_assert_num_queries(2):
        assert history_of(keg=keg).residue == frozenset()
