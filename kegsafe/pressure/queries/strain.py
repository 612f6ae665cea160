"""Is a regulator set above what something it feeds bears? The cheap question of the pour check.

A rating or a relief setting may be corrected after the regulator was set: the plate says what it
says. The rule is `kegsafe.rules.pressure.gas_system.keg_findings`; this is a wider net, asked in
SQL with every keg, so that a bar whose gas is in order pays no further query. It may ask for
nothing's sake, and never misses what the rule would find.
"""

from django.db.models import Exists, F, OuterRef, Q, Value

from kegsafe.equipment.models import Keg, Service
from kegsafe.pressure.models import Connection, Item
from kegsafe.rules.pressure.figures import figure


def may_be_set_too_high(*, keg: OuterRef, venue: OuterRef) -> Q:
    """Return the condition on a keg on gas under which `keg_findings` may find something.

    For each regulator that is set it asks for anything connected that has no figure on record,
    or a lower one than the set pressure; and for a rating below the regulator's own relief. A
    relief valve further down that opens above the regulator's own relief may be above a rating
    too, so it is let through to the rule.
    """
    on_gas = Connection.objects.filter(keg=keg, ended_at=None)
    regulators = (
        Item.objects.filter(venue=venue, kind=Item.Kind.REGULATOR)
        .exclude(set_gauge_pa=None)
        .exclude(service=Service.SCRAPPED)
        .filter(Q(relief_gauge_pa=None) | Exists(_weak_items()) | Exists(_weak_kegs()))
    )
    return Q(Exists(on_gas)) & Q(Exists(regulators))


def _weak_items() -> object:
    set_pa, relief_pa = OuterRef("set_gauge_pa"), OuterRef("relief_gauge_pa")
    is_on_gas = Exists(Connection.objects.filter(item=OuterRef("pk"), ended_at=None))
    is_on_lid = Exists(Connection.objects.filter(keg=OuterRef("keg"), ended_at=None))
    is_valve = Q(kind=Item.Kind.RELIEF_VALVE)
    share = Value(figure("set_pressure.relief_share").value / 100)
    fits_ill = (
        (~is_valve & Q(rated_gauge_pa=None))
        | (is_valve & Q(relief_gauge_pa=None))
        | Q(rated_gauge_pa__lt=set_pa)
        | Q(opens_with_room__lt=set_pa)
        | Q(keg=None, rated_gauge_pa__lt=relief_pa)
        | Q(keg=None, relief_gauge_pa__gt=relief_pa)
        | Q(relief_gauge_pa__gt=F("keg__rated_gauge_pa"))
    )
    items = Item.objects.filter(venue=OuterRef("venue")).exclude(service=Service.SCRAPPED)
    connected = Q(pk=OuterRef("pk")) | is_on_gas | is_on_lid
    return items.annotate(opens_with_room=F("relief_gauge_pa") * share).filter(fits_ill, connected)


def _weak_kegs() -> object:
    is_on_gas = Exists(Connection.objects.filter(keg=OuterRef("pk"), ended_at=None))
    lowest = Q(rated_gauge_pa__lt=OuterRef("set_gauge_pa")) | Q(
        rated_gauge_pa__lt=OuterRef("relief_gauge_pa")
    )
    kegs = Keg.objects.filter(venue=OuterRef("venue"))
    return kegs.filter(Q(rated_gauge_pa=None) | lowest).filter(is_on_gas)
