"""What came in at the door: deliveries and lots."""

from kegsafe.exports.logs.log import Column, Log, moment, recorded, words
from kegsafe.stock.models import Delivery, Lot, Measure, Supplier

_SUPPLIERS = (
    Column("supplier", "Supplier", "name"),
    Column("address", "Address"),
    Column("contact", "Contact"),
    Column("is_active", "In use"),
)
_DELIVERIES = (
    moment("received_at", "Received"),
    Column("supplier", "Supplier", "supplier__name"),
    Column("document", "Delivery note or invoice"),
    Column("received_by", "Received by"),
    Column("note", "Note"),
)
_LOTS = (
    Column("lot", "Our lot code", "code"),
    Column("ingredient", "Ingredient", "ingredient__name"),
    Column("supplier", "Supplier", "delivery__supplier__name"),
    Column("supplier_lot", "Supplier's lot code", "supplier_lot_code"),
    Column("document", "Delivery note or invoice", "delivery__document"),
    moment("came_into_being_at", "Received, or making began"),
    Column("amount_received", "Amount received (in its unit)"),
    Column("amount_left", "Amount left (in its unit)"),
    words("unit", "Unit", [(each.value, each.value) for each in Measure], "measure"),
    words("date_kind", "Kind of date", Lot.DateKind.choices),
    Column("date_on", "Date on the pack"),
    moment("opened_at", "Opened"),
    Column("place", "Place", "place__name"),
    Column("arrival_temperature_degc", "Temperature on arrival (°C)"),
    words("status", "Status", Lot.Status.choices),
    Column("status_reason", "Reason", "status_reason"),
    Column("abv_percent", "Alcohol (% vol)"),
    Column("total_so2_mg_per_l", "Total SO2 (mg/L)"),
    Column("sugar_g_per_l", "Sugar (g/L)"),
)

LOGS = (
    Log(
        "suppliers",
        "Suppliers",
        "Who delivers, as the list stands now.",
        _SUPPLIERS,
        recorded(lambda venue: Supplier.objects.filter(venue=venue), _SUPPLIERS),
        is_dated=False,
    ),
    Log(
        "deliveries",
        "Deliveries",
        "When, from whom, on which document.",
        _DELIVERIES,
        recorded(lambda venue: Delivery.objects.filter(venue=venue), _DELIVERIES, at="received_at"),
    ),
    Log(
        "lots",
        "Lots",
        "Each lot with its dates, its balance and its state now; bought in or made in house.",
        _LOTS,
        recorded(lambda venue: Lot.objects.filter(venue=venue), _LOTS, at="came_into_being_at"),
    ),
)
