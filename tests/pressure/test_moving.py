"""What carries pressure is disconnected before it is moved. Common practice, no source."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from kegsafe.pressure import services
from kegsafe.pressure.models import Item
from tests.builders import a_keg, a_person
from tests.pressure.point_results import BAR

pytestmark = [pytest.mark.django_db, pytest.mark.records]


@pytest.fixture
def rooms(venue, by):
    """The cellar, where the gas system stands, and the yard."""
    cellar = services.add_gas_room(venue=venue, name="Cellar", volume_m3=Decimal(40), by=by)
    yard = services.add_gas_room(venue=venue, name="Yard", volume_m3=Decimal(90), by=by)
    for item in Item.objects.all():
        services.amend_item(item=item, changes={"room": cellar}, reason="Looked", by=by)
    return cellar, yard


def move(item, by, **changes):
    fresh = Item.objects.get(pk=item.pk)
    return services.amend_item(item=fresh, changes=changes, reason="Moved", by=by)


def test_a_room_that_was_not_on_record_may_be_added(gas, rooms):
    assert {item.room for item in Item.objects.select_related("room")} == {rooms[0]}


@pytest.mark.parametrize(
    ("part", "said"),
    [
        ("cylinder", "Regulator 1 hangs on it"),
        ("regulator", "it hangs on Gas cylinder 1, and Manifold 1 hangs on it"),
        ("manifold", "it hangs on Regulator 1, and Keg K1 hangs on it"),
    ],
)
def test_a_connected_item_stays_where_it_is_with_the_reason(gas, rooms, by, part, said):
    item = getattr(gas, part)
    with pytest.raises(ValidationError) as refused:
        move(item, by, room=rooms[1])
    [sentence] = refused.value.message_dict["room"]
    assert said in sentence
    assert "record each as disconnected under Gas system, then move it" in sentence
    assert Item.objects.get(pk=item.pk).room == rooms[0]


def test_nor_does_it_leave_for_no_room_at_all(gas, rooms, by):
    with pytest.raises(ValidationError, match="while gas is on it"):
        move(gas.manifold, by, room=None)


def test_once_disconnected_it_moves(gas, rooms, by):
    now = timezone.now()
    for connection in gas.cylinder.feeds.all():
        services.disconnect(connection, at=now, by=by)
    move(gas.cylinder, by, room=rooms[1])
    assert Item.objects.get(pk=gas.cylinder.pk).room == rooms[1]


def test_what_stays_in_its_room_may_be_amended_while_connected(gas, rooms, by):
    move(gas.manifold, by, room=rooms[0], maker="Vale & Daughters")
    assert Item.objects.get(pk=gas.manifold.pk).maker == "Vale & Daughters"


@pytest.mark.parametrize("way", ["off the keg", "onto the keg"])
def test_a_lid_valve_is_not_moved_while_its_keg_is_on_gas(gas, venue, by, an_item, way):
    other = a_keg(venue, name="K2")
    before, after = (gas.keg, other) if way == "off the keg" else (other, gas.keg)
    valve = an_item("relief_valve", "V1", relief_gauge_pa=6 * BAR, keg=before)
    with pytest.raises(ValidationError, match="a lid is never opened under pressure"):
        move(valve, by, keg=after)
    services.disconnect(gas.to_keg, at=timezone.now(), by=by)
    move(valve, by, keg=after)
    assert Item.objects.get(pk=valve.pk).keg == after


def test_the_form_says_so_at_its_field_and_keeps_what_was_typed(client, venue, gas, rooms):
    client.force_login(a_person(venue, "manager"))
    url = reverse("pressure-item-amend", args=[gas.manifold.pk])
    shown = client.get(url).context["form"]
    sent = {name: shown[name].value() or "" for name in shown.fields}
    answer = client.post(url, {**sent, "room": rooms[1].pk, "reason": "Tidied the cellar"})
    assert "stays in Cellar while gas is on it" in answer.context["form"].errors["room"][0]
    assert answer.context["form"]["reason"].value() == "Tidied the cellar"
