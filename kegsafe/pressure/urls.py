"""Addresses of pressure equipment and gas."""

from django.urls import path

from kegsafe.pressure.views import checks, gas, items, register, rooms

urlpatterns = [
    path("", register.register_list, name="pressure"),
    path("audit/", register.audit, name="pressure-audit"),
    path("items/add/", items.item_add, name="pressure-item-add"),
    path("items/<int:pk>/", items.item, name="pressure-item"),
    path("items/<int:pk>/amend/", items.item_amend, name="pressure-item-amend"),
    path("items/<int:pk>/service/", items.item_service, name="pressure-item-service"),
    path("items/<int:pk>/check/", checks.item_check, name="pressure-item-check"),
    path("items/<int:pk>/interval/", checks.item_interval, name="pressure-item-interval"),
    path("items/<int:pk>/leak/", checks.item_leak, name="pressure-item-leak"),
    path("items/<int:pk>/document/", checks.item_document, name="pressure-item-document"),
    path("items/<int:pk>/connect/", gas.item_connect, name="pressure-item-connect"),
    path("items/<int:pk>/set/", gas.item_set, name="pressure-item-set"),
    path("items/<int:pk>/charge/", gas.item_charge, name="pressure-item-charge"),
    path("items/<int:pk>/weigh/", gas.item_weigh, name="pressure-item-weigh"),
    path("kegs/<int:pk>/", items.keg, name="pressure-keg"),
    path("kegs/<int:pk>/plate/", items.keg_plate, name="pressure-keg-plate"),
    path("kegs/<int:pk>/check/", checks.keg_check, name="pressure-keg-check"),
    path("kegs/<int:pk>/interval/", checks.keg_interval, name="pressure-keg-interval"),
    path("kegs/<int:pk>/leak/", checks.keg_leak, name="pressure-keg-leak"),
    path("kegs/<int:pk>/document/", checks.keg_document, name="pressure-keg-document"),
    path("checks/<int:pk>/", checks.check, name="pressure-check"),
    path("checks/<int:pk>/photograph/", checks.check_photograph, name="pressure-check-photograph"),
    path("photographs/<int:pk>/", checks.photograph, name="pressure-photograph"),
    path("documents/<int:pk>/", checks.document, name="pressure-document"),
    path("gas/", gas.gas, name="gas"),
    path("gas/<int:pk>/disconnect/", gas.gas_disconnect, name="gas-disconnect"),
    path("rooms/", rooms.rooms, name="gas-rooms"),
    path("rooms/add/", rooms.room_add, name="gas-room-add"),
    path("rooms/<int:pk>/", rooms.room, name="gas-room"),
    path("rooms/<int:pk>/amend/", rooms.room_amend, name="gas-room-amend"),
    path("rooms/<int:pk>/document/", checks.room_document, name="gas-room-document"),
    path("rooms/<int:pk>/sign/", rooms.room_sign, name="gas-room-sign"),
]
