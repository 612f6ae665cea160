"""Pressure equipment: what there is, and each check of it. Pressures are gauge."""

from kegsafe.equipment.models import Keg, Metal, Service
from kegsafe.exports.logs.log import Column, Log, bar, moment, recorded, words
from kegsafe.pressure.models import Check, Item

_ITEMS = (
    words("kind", "Kind", Item.Kind.choices),
    Column("name", "Name"),
    Column("serial", "Serial number"),
    Column("maker", "Maker"),
    Column("room", "Room", "room__name"),
    Column("keg", "Fitted to keg", "keg__name"),
    words("service", "Use", Service.choices),
    Column("service_reason", "Reason"),
    bar("rated_bar_gauge", "Rated pressure (bar gauge)", "rated_gauge_pa"),
    bar("inlet_rated_bar_gauge", "Rated inlet pressure (bar gauge)", "inlet_rated_gauge_pa"),
    bar("relief_bar_gauge", "Relief opens at (bar gauge)", "relief_gauge_pa"),
    bar("set_bar_gauge", "Set pressure (bar gauge)", "set_gauge_pa"),
    Column("volume_ml", "Water capacity (ml)"),
    Column("marked_on", "Maker's date mark"),
    Column("replace_by", "Replace by"),
    Column("cylinder_rule", "Specification"),
    Column("stamped_on", "Last test stamp"),
    Column("requalify_by", "Test again by, as owner or permit says"),
    Column("charge_g", "Full charge of CO2 (g)"),
)
_KEGS = (
    Column("keg", "Keg", "name"),
    Column("serial", "Serial number"),
    Column("capacity_ml", "Capacity (ml)"),
    bar("rated_bar_gauge", "Rated pressure (bar gauge)", "rated_gauge_pa"),
    words("metal", "Metals touching the drink", Metal.choices),
    words("service", "Use", Service.choices),
    Column("service_reason", "Reason"),
)
_CHECKS = (
    moment("checked_at", "Checked"),
    Column("item", "Equipment", "item__name"),
    Column("keg", "Keg", "keg__name"),
    Column("check", "Check", "label"),
    words("outcome", "Outcome", Check.Outcome.choices),
    Column("comment", "Comment"),
    Column("recorded_by", "Recorded by"),
    Column("competent_person", "Competent person"),
    Column("report", "Report number"),
)

LOGS = (
    Log(
        "pressure-register",
        "Pressure register",
        "Cylinders, regulators, valves and hoses as the register stands now. An empty rating is "
        "not recorded, never unlimited.",
        _ITEMS,
        recorded(lambda venue: Item.objects.filter(venue=venue), _ITEMS),
        is_dated=False,
    ),
    Log(
        "kegs",
        "Kegs",
        "Kegs as the list stands now. An empty rating is not recorded, never unlimited.",
        _KEGS,
        recorded(lambda venue: Keg.objects.filter(venue=venue), _KEGS),
        is_dated=False,
    ),
    Log(
        "pressure-checks",
        "Pressure checks",
        "Each check of a piece or a keg, with who was competent.",
        _CHECKS,
        recorded(lambda venue: Check.objects.filter(venue=venue), _CHECKS, at="checked_at"),
    ),
)
