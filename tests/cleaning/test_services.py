"""Recording a clean: what is refused, and what each record leaves in the ledger."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from kegsafe.cleaning import services
from kegsafe.cleaning.models import CleaningRecord
from kegsafe.equipment.models import Service
from kegsafe.equipment.services import begin_use, end_use, set_service
from kegsafe.ledger.queries import history
from tests.builders import a_keg, a_line, a_recorder, a_venue

pytestmark = pytest.mark.django_db
DONE = {
    "method": "Caustic 2 %, 15 min; rinse; peroxyacetic acid 200 ppm, 2 min",
    "sanitised": True,
    "is_allergen_clean": False,
    "verification": CleaningRecord.Verification.VISUAL,
}


@pytest.fixture
def venue():
    return a_venue()


@pytest.fixture
def by(venue):
    return a_recorder(venue)


def _ago(**span):
    return timezone.now() - timedelta(**span)


def _hold(item, by, **until):
    kind = "keg" if hasattr(item, "capacity_ml") else "line"
    use = begin_use(
        **{kind: item},
        drink="Paloma",
        allergens=[],
        carried_over=[],
        began_at=_ago(hours=5),
        by=by,
    )
    if until:
        end_use(use, ended_at=_ago(**until), by=by)


def _clean(venue, by, *, cleaned_at=None, **item):
    return services.record_clean(
        venue=venue, cleaned_at=cleaned_at or _ago(minutes=1), by=by, **item, **DONE
    )


def test_a_clean_is_recorded_with_the_name_of_who_did_it(venue, by):
    clean = _clean(venue, by, keg=a_keg(venue))
    assert clean.recorded_by == by.person
    assert [event.action for event in history(clean)] == ["cleaned"]


def test_a_clean_that_is_still_to_come_is_refused(venue, by):
    with pytest.raises(ValidationError, match="still to come"):
        _clean(venue, by, keg=a_keg(venue), cleaned_at=_ago(minutes=-1))


def test_a_keg_that_holds_a_drink_is_not_clean_inside(venue, by):
    keg = a_keg(venue, name="K7")
    _hold(keg, by)
    with pytest.raises(ValidationError, match="Keg K7 still holds Paloma: empty it first"):
        _clean(venue, by, keg=keg)


def test_a_line_with_a_keg_on_it_is_taken_off_first(venue, by):
    line = a_line(venue)
    _hold(line, by)
    with pytest.raises(ValidationError, match="take the keg off this line first"):
        _clean(venue, by, line=line)


def test_a_keg_is_clean_only_after_its_drink_was_out(venue, by):
    keg = a_keg(venue)
    _hold(keg, by, hours=2)
    with pytest.raises(ValidationError, match="held Paloma at that time"):
        _clean(venue, by, keg=keg, cleaned_at=_ago(hours=2, minutes=1))
    assert _clean(venue, by, keg=keg, cleaned_at=_ago(hours=1, minutes=59)).pk
    assert _clean(venue, by, keg=keg, cleaned_at=_ago(hours=6)).pk


def test_a_scrapped_keg_is_not_cleaned(venue, by):
    keg = a_keg(venue)
    set_service(keg, service=Service.SCRAPPED, reason="Dented", by=by)
    with pytest.raises(ValidationError, match="was scrapped"):
        _clean(venue, by, keg=keg)


def test_several_kegs_and_lines_get_a_record_each_or_none_does(venue, by):
    keg, line, full = a_keg(venue), a_line(venue), a_keg(venue)
    done = {**DONE, "cleaned_at": _ago(minutes=1)}
    cleans = services.record_cleans(venue=venue, items=[keg, line], by=by, **done)
    assert [(clean.keg, clean.line) for clean in cleans] == [(keg, None), (None, line)]
    _hold(full, by)
    with pytest.raises(ValidationError):
        services.record_cleans(venue=venue, items=[keg, full], by=by, **done)
    assert CleaningRecord.objects.count() == 2


def test_an_amended_record_keeps_what_it_said_first(venue, by):
    clean = _clean(venue, by, keg=a_keg(venue))
    services.amend_clean(
        clean=clean, changes={"sanitised": False}, reason="Ran out of sanitiser", by=by
    )
    (change,) = history(clean)[0].changes
    assert (change.first, change.new) == (True, False)


def test_a_record_is_not_amended_into_the_time_of_a_drink(venue, by):
    keg = a_keg(venue)
    _hold(keg, by, hours=2)
    clean = _clean(venue, by, keg=keg)
    with pytest.raises(ValidationError, match="held Paloma at that time"):
        services.amend_clean(
            clean=clean, changes={"cleaned_at": _ago(hours=3)}, reason="Earlier", by=by
        )


@pytest.mark.records
def test_the_database_keeps_a_record_to_one_keg_or_one_line(venue):
    keg, line = a_keg(venue), a_line(venue)
    for items in ({}, {"keg": keg, "line": line}):
        with pytest.raises(IntegrityError, match="for_one_item"), transaction.atomic():
            CleaningRecord.objects.create(
                venue=venue, cleaned_at=_ago(hours=1), recorded_by="mara", **DONE, **items
            )
