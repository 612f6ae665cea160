"""How lots became drinks and where those went: preparations, batches, draws, fills, tappings."""

from kegsafe.batches.models import Batch, Draw, Fill, Preparation, Tapping
from kegsafe.exports.logs.log import Column, Log, bar, listed, moment, recorded, words
from kegsafe.pour.models import PourCheck
from kegsafe.rules.findings import Outcome

_PREPARATIONS = (
    Column("lot", "Lot made", "lot__code"),
    Column("ingredient", "What", "lot__ingredient__name"),
    moment("began_at", "Began"),
    moment("finished_at", "Finished"),
    Column("business_date", "Working day"),
    Column("amount_made", "Amount made (in its unit)", "lot__amount_received"),
    Column("unit", "Unit", "lot__measure"),
    Column("made_by", "Made by"),
    Column("method", "Method"),
)
_BATCHES = (
    Column("batch", "Batch", "code"),
    Column("drink", "Drink", "recipe__name"),
    moment("made_at", "Made"),
    Column("business_date", "Working day"),
    Column("volume_ml", "Volume (ml)"),
    Column("filled_ml", "Filled into kegs (ml)"),
    Column("made_by", "Made by"),
    Column("measured_ph", "pH, degassed"),
    Column("measured_water_activity", "Water activity"),
    Column("abv_percent", "Alcohol (% vol)"),
    Column("total_so2_mg_per_l", "Total SO2 (mg/L)"),
    Column("sugar_g_per_l", "Sugar (g/L)"),
)
_DRAWS = (
    moment("drawn_at", "Drawn"),
    Column("lot", "From lot", "lot__code"),
    Column("ingredient", "Ingredient", "lot__ingredient__name"),
    Column("amount", "Amount (in its unit)"),
    Column("unit", "Unit", "lot__measure"),
    Column("amount_typed", "As typed"),
    Column("batch", "Into batch", "batch__code"),
    Column("preparation", "Into preparation", "preparation__lot__code"),
)
_FILLS = (
    Column("keg", "Keg", "keg__name"),
    Column("drink", "Drink", "batch__recipe__name"),
    Column("batch", "Batch", "batch__code"),
    moment("filled_at", "Filled"),
    Column("volume_ml", "Volume (ml)"),
    Column("liquid_temperature_degc", "Temperature of the drink (°C)"),
    bar("set_pressure_bar_gauge", "Pressure set (bar gauge)", "set_gauge_pa"),
    Column("gas_cycles", "Carbonation cycles"),
    moment("ready_from", "Ready from"),
    moment("use_by_at", "Use by, as found when filled"),
    Column("is_tcs", "Needs time/temperature control"),
    listed("cross_contact_accepted", "Left by the last drink, declared as may contain"),
    Column("filled_by", "Filled by"),
    words("state", "State", Fill.State.choices),
    Column("state_reason", "Reason"),
    Column("state_by", "State set by"),
    moment("state_at", "State set"),
)
_TAPPINGS = (
    Column("tap", "Tap", "tap__name"),
    Column("line", "Line", "tap__line__name"),
    Column("keg", "Keg", "fill__keg__name"),
    Column("drink", "Drink", "fill__batch__recipe__name"),
    Column("batch", "Batch", "fill__batch__code"),
    moment("began_at", "On tap from"),
    moment("ended_at", "On tap until"),
)
_OUTCOMES = [(each.value, each.value) for each in Outcome]
_POUR_CHECKS = (
    moment("checked_at", "Checked"),
    Column("keg", "Keg", "fill__keg__name"),
    Column("drink", "Drink", "fill__batch__recipe__name"),
    words("outcome", "Outcome", _OUTCOMES),
    Column(
        "reasons",
        "Reasons",
        "findings",
        lambda findings: "; ".join(each.get("statement", "") for each in findings),
    ),
    Column("checked_by", "Checked by"),
)

LOGS = (
    Log(
        "preparations",
        "Preparations",
        "Syrups, juices and infusions made in house, each with the lot it became.",
        _PREPARATIONS,
        recorded(
            lambda venue: Preparation.objects.filter(venue=venue), _PREPARATIONS, at="began_at"
        ),
    ),
    Log(
        "batches",
        "Batches",
        "Each making of a drink, with what was measured and computed.",
        _BATCHES,
        recorded(lambda venue: Batch.objects.filter(venue=venue), _BATCHES, at="made_at"),
    ),
    Log(
        "draws",
        "Draws",
        "What was taken from which lot into which preparation or batch.",
        _DRAWS,
        recorded(lambda venue: Draw.objects.filter(lot__venue=venue), _DRAWS, at="drawn_at"),
    ),
    Log(
        "fills",
        "Fills",
        "Kegs as they were filled, and what became of them.",
        _FILLS,
        recorded(lambda venue: Fill.objects.filter(keg__venue=venue), _FILLS, at="filled_at"),
    ),
    Log(
        "tappings",
        "Tappings",
        "Which keg ran on which tap, from when until when.",
        _TAPPINGS,
        recorded(lambda venue: Tapping.objects.filter(tap__venue=venue), _TAPPINGS, at="began_at"),
    ),
    Log(
        "pour-checks",
        "Pour checks",
        "What was answered to whom, with the reasons as shown.",
        _POUR_CHECKS,
        recorded(
            lambda venue: PourCheck.objects.filter(fill__keg__venue=venue),
            _POUR_CHECKS,
            at="checked_at",
        ),
    ),
)
