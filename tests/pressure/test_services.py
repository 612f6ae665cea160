"""What may be connected, set, charged and checked, and what a failure takes out of use."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from kegsafe.equipment import services as equipment
from kegsafe.equipment.models import Keg, Service
from kegsafe.ledger.models import Entry
from kegsafe.ledger.verification import verify_records
from kegsafe.pressure import services
from kegsafe.pressure.models import Check, Connection, GasFill, Item, OwnInterval
from kegsafe.pressure.queries import kegs_served, standing_of_kegs
from kegsafe.rules.findings import Severity
from tests.builders import a_keg, a_venue
from tests.pressure.point_results import BAR, results

pytestmark = [pytest.mark.django_db, pytest.mark.records]


def refused(act, **values):
    with pytest.raises(ValidationError) as trouble:
        act(**values)
    return " ".join(trouble.value.messages)


def look(item, by, *, failed="", check="look", **values):
    return services.record_check(
        item=item, check=check, results=results(item.kind, check, failed=failed), by=by, **values
    )


# The gas system


def test_a_keg_that_bears_less_than_the_regulator_is_set_to_is_not_connected(venue, by, gas):
    weak = a_keg(venue, name="K9", rated_gauge_pa=BAR)
    said = refused(services.connect, source=gas.manifold, keg=weak, at=timezone.now(), by=by)
    assert "Keg K9" in said
    assert not Connection.objects.filter(keg=weak).exists()
    connected = Entry.objects.filter(chain=venue.chain, action="connected")
    assert connected.count() == Connection.objects.count()


def test_a_keg_without_a_rating_is_never_connected(venue, by, gas):
    blank = a_keg(venue, name="K8", rated_gauge_pa=None)
    said = refused(services.connect, source=gas.manifold, keg=blank, at=timezone.now(), by=by)
    assert "No rated pressure of Keg K8 is on record" in said


@pytest.mark.parametrize(("set_bar", "is_refused"), [("5.4", False), ("5.41", True)])
def test_a_regulator_is_set_up_to_nine_tenths_of_its_relief(by, gas, set_bar, is_refused):
    wanted = {"regulator": gas.regulator, "set_gauge_pa": Decimal(set_bar) * BAR, "by": by}
    if is_refused:
        assert "Regulator 1 opens at 6.00 bar gauge" in refused(services.set_pressure, **wanted)
    else:
        services.set_pressure(**wanted)
        assert Item.objects.get(pk=gas.regulator.pk).set_gauge_pa == Decimal(540_000)


def test_a_cylinder_is_not_connected_without_a_regulator(venue, by, gas):
    keg = a_keg(venue)
    said = refused(services.connect, source=gas.cylinder, keg=keg, at=timezone.now(), by=by)
    assert "without a regulator" in said


def test_a_keg_waits_until_its_regulator_is_set(venue, by, an_item):
    regulator = an_item("regulator", rated_gauge_pa=10 * BAR, relief_gauge_pa=6 * BAR)
    said = refused(services.connect, source=regulator, keg=a_keg(venue), at=timezone.now(), by=by)
    assert "a regulator that nobody set" in said


def test_gas_runs_in_no_circle(by, gas, an_item):
    hose = an_item("hose", rated_gauge_pa=10 * BAR)
    services.connect(source=gas.manifold, item=hose, at=timezone.now(), by=by)
    last = an_item("hose", "2", rated_gauge_pa=10 * BAR)
    services.connect(source=hose, item=last, at=timezone.now(), by=by)
    services.disconnect(
        Connection.objects.get(item=gas.manifold, ended_at=None), at=timezone.now(), by=by
    )
    said = refused(services.connect, source=last, item=gas.manifold, at=timezone.now(), by=by)
    assert "in a circle" in said


def test_a_keg_hangs_on_one_thing_at_a_time(by, gas):
    said = refused(services.connect, source=gas.manifold, keg=gas.keg, at=timezone.now(), by=by)
    assert "on gas already" in said


def test_a_connection_ends_once(by, gas):
    services.disconnect(gas.to_keg, at=timezone.now(), by=by)
    assert "already" in refused(lambda: services.disconnect(gas.to_keg, at=timezone.now(), by=by))


def test_another_bars_keg_is_not_connected(by, gas):
    stranger = a_keg(a_venue(name="The Tin Heron"))
    with pytest.raises(ValueError, match="another venue"):
        services.connect(source=gas.manifold, keg=stranger, at=timezone.now(), by=by)


def test_the_kegs_a_cylinder_served_are_found_after_they_were_taken_off(by, gas):
    now = timezone.now()
    services.disconnect(gas.to_keg, at=now, by=by)
    assert kegs_served(gas.cylinder, now - timedelta(hours=1)) == [gas.keg]
    assert kegs_served(gas.cylinder, now + timedelta(hours=1)) == []


# Cylinders


def charge(cylinder, by, **values):
    stated = {
        "received_at": timezone.now(),
        "supplier": "Northfield Gases",
        "grade": "food",
        "lot": "B77",
        "charge_g": Decimal(9070),
        **values,
    }
    return services.charge_cylinder(cylinder=cylinder, by=by, **stated)


def test_a_cylinder_in_date_is_charged_with_its_lot(by, gas):
    charge(gas.cylinder, by)
    assert GasFill.objects.get().lot == "B77"


def test_a_cylinder_out_of_date_is_not_charged_and_may_be_emptied(by, gas):
    services.amend_item(
        item=gas.cylinder, changes={"stamped_on": date(2015, 1, 1)}, reason="Read again", by=by
    )
    said = refused(lambda: charge(gas.cylinder, by))
    assert "may be emptied or returned, not filled" in said
    assert Connection.objects.get(item=gas.regulator).ended_at is None


def test_a_cylinder_whose_stamp_nobody_read_is_not_charged(by, an_item):
    assert "treat as due" in refused(lambda: charge(an_item("cylinder"), by))


def test_gas_that_is_not_food_grade_is_sent_back(by, gas):
    assert "food-grade" in refused(lambda: charge(gas.cylinder, by, grade="other"))


@pytest.mark.parametrize(("gross", "is_refused"), [(9099, True), (9100, False), (18_170, False)])
def test_a_cylinder_lighter_than_its_tare_was_misread(by, gas, gross, is_refused):
    weigh = {"cylinder": gas.cylinder, "gross_g": Decimal(gross), "by": by}
    if is_refused:
        assert "Lighter than its tare" in refused(
            services.weigh_cylinder, uncertainty_g=Decimal(50), **weigh
        )
    else:
        assert services.weigh_cylinder(uncertainty_g=Decimal(50), **weigh).gross_g == gross


# Checks


def test_a_failed_check_takes_the_item_out_of_service_and_a_passing_one_returns_it(by, gas):
    look(gas.regulator, by, failed="zero")
    failed = Item.objects.get(pk=gas.regulator.pk)
    assert (failed.service, failed.service_reason) == (
        Service.OUT_OF_SERVICE,
        "Failed: Look at the regulator",
    )
    said = refused(
        lambda: services.set_item_service(failed, service="in_use", reason="Looks fine", by=by)
    )
    assert "passing check" in said
    look(failed, by)
    assert Item.objects.get(pk=failed.pk).service == Service.IN_USE


def test_a_pass_of_another_kind_does_not_return_it(by, an_item):
    monitor = an_item("monitor")
    look(monitor, by, check="bump", failed="responds")
    look(monitor, by, check="function")
    assert Item.objects.get().service == Service.OUT_OF_SERVICE
    look(monitor, by, check="bump")
    assert Item.objects.get().service == Service.IN_USE


def test_a_pass_does_not_lift_a_quarantine_somebody_set(by, an_item):
    hose = an_item("hose")
    services.set_item_service(hose, service="quarantined", reason="From the flood", by=by)
    look(hose, by)
    assert Item.objects.get().service == Service.QUARANTINED


def test_a_point_that_was_not_looked_at_is_no_pass(by, gas):
    found = results("regulator", "look")
    del found["body"]
    with pytest.raises(ValidationError) as trouble:
        services.record_check(item=gas.regulator, check="look", results=found, by=by)
    assert set(trouble.value.message_dict) == {"body"}
    assert not Check.objects.exists()


def test_a_check_in_which_nothing_applied_is_none(by, gas):
    nothing = dict.fromkeys(results("regulator", "look"), "not_applicable")
    said = refused(services.record_check, item=gas.regulator, check="look", results=nothing, by=by)
    assert "Nothing was looked at" in said


def test_a_formal_check_names_the_competent_person_and_the_report(by, gas):
    with pytest.raises(ValidationError) as trouble:
        look(gas.regulator, by, check="yearly")
    assert set(trouble.value.message_dict) == {"competent_person", "report"}
    done = look(gas.regulator, by, check="yearly", competent_person="I. Vale", report="R-12")
    assert done.outcome == "pass"


def test_an_interval_on_the_makers_word_names_the_document(by, gas):
    values = {"item": gas.regulator, "check": "yearly", "months": 24, "by": by}
    assert "Name the maker's instructions" in refused(
        services.set_interval, basis="maker", **values
    )
    services.set_interval(basis="maker", reference="Manual, 2024", **values)
    services.set_interval(basis="owner", **{**values, "months": 6})
    assert OwnInterval.objects.get().months == 6


# What hangs on failed equipment


def test_a_failed_relief_valve_stops_its_keg_and_a_passing_check_frees_it(venue, by, an_item):
    keg, other = a_keg(venue, name="K7"), a_keg(venue, name="K8")
    valve = an_item("relief_valve", keg=keg, relief_gauge_pa=7 * BAR)
    look(valve, by, check="before_fill", failed="lifts")
    standing = standing_of_kegs([keg.pk, other.pk])
    (finding,) = standing[keg.pk]
    assert finding.severity is Severity.STOP
    assert "Relief valve 1 on its lid is out of service" in finding.statement
    assert standing[other.pk] == ()
    look(valve, by, check="before_fill")
    assert standing_of_kegs([keg.pk]) == {keg.pk: ()}


@pytest.mark.parametrize(
    ("name", "failed", "severity"),
    [
        ("regulator", "zero", Severity.STOP),
        ("cylinder", "secured", Severity.ASK),
    ],
)
def test_what_feeds_a_keg_and_failed_stands_against_it(by, gas, name, failed, severity):
    look(getattr(gas, name), by, failed=failed)
    (finding,) = standing_of_kegs([gas.keg.pk])[gas.keg.pk]
    assert finding.severity is severity
    assert "that feeds it is out of service: Failed" in finding.statement


def test_a_keg_taken_off_the_gas_is_free_of_what_failed_behind_it(by, gas):
    look(gas.regulator, by, failed="zero")
    services.disconnect(gas.to_keg, at=timezone.now(), by=by)
    assert standing_of_kegs([gas.keg.pk]) == {gas.keg.pk: ()}


def test_a_keg_that_failed_stays_stopped_even_when_somebody_puts_it_back(venue, by):
    keg = a_keg(venue, name="K7")
    found = results("keg", "before_fill", failed="posts")
    services.record_check(keg=keg, check="before_fill", results=found, by=by)
    assert Keg.objects.get().service == Service.OUT_OF_SERVICE
    equipment.set_service(keg, service="in_use", reason="It is Friday", by=by)
    (finding,) = standing_of_kegs([keg.pk])[keg.pk]
    assert finding.severity is Severity.STOP
    services.record_check(
        keg=keg, check="before_fill", results=results("keg", "before_fill"), by=by
    )
    assert standing_of_kegs([keg.pk]) == {keg.pk: ()}


@pytest.mark.parametrize("count", [1, 30])
def test_the_standing_of_any_number_of_kegs_takes_four_queries(
    venue, by, gas, django_assert_num_queries, count
):
    kegs = [gas.keg.pk, *(a_keg(venue).pk for _ in range(count))]
    with django_assert_num_queries(4):
        standing_of_kegs(kegs)


def test_no_keg_asks_no_query(django_assert_num_queries):
    with django_assert_num_queries(0):
        assert standing_of_kegs([]) == {}


# The database says no where a form was bypassed


@pytest.mark.parametrize(
    ("kind", "values"),
    [
        ("hose", {"stamped_on": date(2020, 1, 1)}),
        ("hose", {"set_gauge_pa": BAR}),
        ("regulator", {"rated_gauge_pa": Decimal(0)}),
        ("relief_valve", {"relief_gauge_pa": Decimal(-1)}),
    ],
)
def test_an_impossible_item_is_not_stored(venue, kind, values):
    with pytest.raises(IntegrityError), transaction.atomic():
        Item.objects.create(venue=venue, kind=kind, name="X", **values)


def test_every_act_stands_in_the_ledger(venue, by, gas):
    look(gas.regulator, by, failed="zero")
    look(gas.regulator, by)
    assert list(verify_records()) == []
    actions = set(Entry.objects.filter(chain=venue.chain).values_list("action", flat=True))
    assert {"connected", "set to a pressure", "failed a check", "taken out of service"} <= actions
