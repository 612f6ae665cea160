"""Kegs, lines, taps and places: what may change, and what each change leaves in the ledger."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from kegsafe.equipment import services
from kegsafe.equipment.models import Keg, Metal, Place, Placement, Service, Use
from kegsafe.ledger.queries import history
from tests.builders import a_keg, a_line, a_place, a_recorder, a_tap, a_venue

pytestmark = pytest.mark.django_db


@pytest.fixture
def venue():
    return a_venue()


@pytest.fixture
def by(venue):
    return a_recorder(venue)


@pytest.fixture
def keg(venue):
    return a_keg(venue, name="K7")


def _ago(**span):
    return timezone.now() - timedelta(**span)


def _hold(item, by, *, drink="Paloma", began_at=None):
    return services.begin_use(
        **{"keg" if isinstance(item, Keg) else "line": item},
        drink=drink,
        allergens=["almond"],
        carried_over=[],
        began_at=began_at or _ago(hours=2),
        by=by,
    )


def _actions(record):
    return [event.action for event in history(record)]


def test_everything_added_has_its_entry(venue, keg):
    line = a_line(venue)
    for record in (keg, line, a_tap(venue, line=line), a_place(venue)):
        assert _actions(record) == ["added"]


def test_a_keg_without_a_rating_is_kept_as_one_without(venue, by):
    keg = a_keg(venue, rated_gauge_pa=None)
    assert Keg.objects.get(pk=keg.pk).rated_gauge_pa is None


def test_two_kegs_of_one_name_are_refused(venue, keg):
    with pytest.raises(ValidationError, match="already a keg of this name"):
        a_keg(venue, name="K7")


def test_two_venues_may_each_have_a_keg_of_that_name(keg):
    assert a_keg(a_venue(name="Elsewhere"), name="K7").name == "K7"


@pytest.mark.parametrize("capacity", [Decimal(0), Decimal(-19_000)])
def test_a_keg_that_holds_nothing_is_refused(venue, capacity):
    with pytest.raises(ValidationError, match="more than nothing: 19 L"):
        a_keg(venue, capacity_ml=capacity)


def test_an_amended_rating_keeps_the_first(keg, by):
    services.amend_keg(
        keg=keg, changes={"rated_gauge_pa": Decimal(690_000)}, reason="Misread plate", by=by
    )
    (change,) = history(keg)[0].changes
    assert (change.first, change.new) == ("900000.0", "690000.0")


def test_a_keg_taken_out_of_service_says_why_until_it_is_back(keg, by):
    services.set_service(keg, service=Service.QUARANTINED, reason="Valve weeps", by=by)
    assert Keg.objects.get(pk=keg.pk).service_reason == "Valve weeps"
    services.set_service(keg, service=Service.IN_USE, reason="Valve replaced", by=by)
    assert Keg.objects.get(pk=keg.pk).service_reason == ""
    assert _actions(keg) == ["put into use", "quarantined", "added"]


def test_a_service_state_without_a_reason_is_refused(keg, by):
    with pytest.raises(ValidationError, match="Say why"):
        services.set_service(keg, service=Service.QUARANTINED, reason=" ", by=by)


def test_a_keg_that_holds_a_drink_is_not_scrapped(keg, by):
    _hold(keg, by)
    with pytest.raises(ValidationError, match="still holds Paloma: empty it first"):
        services.set_service(keg, service=Service.SCRAPPED, reason="Dented", by=by)


def test_a_scrapped_keg_does_not_come_back(keg, by):
    services.set_service(keg, service=Service.SCRAPPED, reason="Dented", by=by)
    with pytest.raises(ValidationError, match="was scrapped"):
        services.set_service(keg, service=Service.IN_USE, reason="Looks fine", by=by)


def test_a_keg_remembers_what_it_held_and_what_was_left_in_it(keg, by):
    use = services.begin_use(
        keg=keg,
        drink="Orgeat sour",
        allergens=["egg", "almond", "egg"],
        carried_over=["milk"],
        began_at=_ago(hours=1),
        by=by,
    )
    stored = Use.objects.get(pk=use.pk)
    assert (stored.allergens, stored.carried_over) == (["almond", "egg"], ["milk"])
    services.end_use(use, ended_at=_ago(minutes=1), by=by)
    assert _actions(use) == ["drink out", "took a drink"]


@pytest.mark.parametrize("make", [a_keg, a_line])
def test_nothing_holds_two_drinks_at_once(venue, by, make):
    item = make(venue)
    _hold(item, by)
    with pytest.raises(ValidationError, match="still holds Paloma: empty it first"):
        _hold(item, by, drink="Negroni")


def test_a_keg_out_of_service_takes_no_drink(keg, by):
    services.set_service(keg, service=Service.QUARANTINED, reason="Valve weeps", by=by)
    with pytest.raises(ValidationError, match="Keg K7 is quarantined"):
        _hold(keg, by)


def test_a_drink_cannot_go_in_before_the_last_was_out(keg, by):
    services.end_use(_hold(keg, by), ended_at=_ago(hours=1), by=by)
    with pytest.raises(ValidationError, match="still held Paloma at that time"):
        _hold(keg, by, began_at=_ago(minutes=61))
    assert _hold(keg, by, began_at=_ago(minutes=59)).ended_at is None


def test_a_drink_is_out_once(keg, by):
    use = _hold(keg, by)
    services.end_use(use, ended_at=_ago(hours=1), by=by)
    with pytest.raises(ValidationError, match="was out already"):
        services.end_use(use, ended_at=_ago(minutes=1), by=by)


@pytest.mark.parametrize(("ended", "sentence"), [(-3, "before it was in"), (1, "still to come")])
def test_a_drink_is_out_after_it_went_in_and_not_tomorrow(keg, by, ended, sentence):
    use = _hold(keg, by)
    with pytest.raises(ValidationError, match=sentence):
        services.end_use(use, ended_at=_ago(hours=-ended), by=by)


def test_a_moved_keg_stands_in_one_place_and_leaves_the_other(venue, keg, by):
    walk_in, bar = a_place(venue), a_place(venue)
    first = services.place_keg(keg=keg, place=walk_in, at=_ago(hours=5), by=by)
    moved_at = _ago(hours=1)
    second = services.place_keg(keg=keg, place=bar, at=moved_at, by=by)
    first.refresh_from_db()
    assert (first.ended_at, second.began_at, second.ended_at) == (moved_at, moved_at, None)
    assert _actions(first) == ["moved away", "placed"]


def test_a_keg_moved_to_where_it_stands_leaves_no_entry(venue, keg, by):
    place = a_place(venue)
    first = services.place_keg(keg=keg, place=place, at=_ago(hours=5), by=by)
    assert services.place_keg(keg=keg, place=place, at=_ago(hours=1), by=by) == first
    assert Placement.objects.filter(keg=keg).count() == 1


def test_a_keg_is_not_moved_before_it_came_nor_tomorrow(venue, keg, by):
    services.place_keg(keg=keg, place=a_place(venue), at=_ago(hours=5), by=by)
    for at, sentence in ((_ago(hours=6), "was moved after that"), (_ago(hours=-1), "to come")):
        with pytest.raises(ValidationError, match=sentence):
            services.place_keg(keg=keg, place=a_place(venue), at=at, by=by)


def test_a_keg_is_not_moved_to_a_closed_place(venue, keg, by):
    place = a_place(venue)
    services.amend_place(place=place, changes={"is_active": False}, reason="Sold", by=by)
    with pytest.raises(ValidationError, match="is closed"):
        services.place_keg(keg=keg, place=place, at=_ago(hours=1), by=by)


def test_a_place_where_kegs_stand_is_not_closed(venue, keg, by):
    place = a_place(venue)
    services.place_keg(keg=keg, place=place, at=_ago(hours=1), by=by)
    with pytest.raises(ValidationError, match="Kegs stand here"):
        services.amend_place(place=place, changes={"is_active": False}, reason="Sold", by=by)


def test_a_tap_keeps_its_line_while_that_carries_a_drink(venue, by):
    tap = a_tap(venue)
    _hold(tap.line, by)
    with pytest.raises(ValidationError, match="take it off tap first"):
        services.amend_tap(tap=tap, changes={"line": a_line(venue)}, reason="Moved", by=by)


def test_a_tap_on_the_line_of_another_venue_is_a_mistake_of_the_program(venue):
    with pytest.raises(ValueError, match="another venue"):
        a_tap(venue, line=a_line(a_venue(name="Elsewhere")))


def test_only_places_that_are_cold_count_as_chilled(venue):
    chilled = {kind for kind in Place.Kind if Place(kind=kind).is_chilled}
    assert chilled == {Place.Kind.WALK_IN, Place.Kind.FRIDGE, Place.Kind.KEG_COOLER}


def test_metals_nobody_looked_at_are_not_known_rather_than_stainless():
    assert Keg().metal == Metal.NOT_KNOWN
