"""Everything that changes the stock, each in one transaction with its ledger entry."""

from kegsafe.stock.services.deliveries import (
    NewLot,
    amend_delivery,
    next_lot_code,
    receive_delivery,
    receive_lots,
)
from kegsafe.stock.services.drawing import draw_from_lot
from kegsafe.stock.services.imports import StalePlan, import_deliveries, keep_file
from kegsafe.stock.services.ingredients import add_ingredient, amend_ingredient, state_allergen
from kegsafe.stock.services.lots import (
    amend_lot,
    discard_lot,
    freeze_lot,
    hold_lot,
    make_lot,
    open_lot,
    reject_lot,
    release_lot,
    thaw_lot,
)
from kegsafe.stock.services.shelf_lives import (
    add_assessment,
    add_shelf_life,
    amend_assessment,
    withdraw_shelf_life,
)
from kegsafe.stock.services.starter_catalogue import pick_from_catalogue
from kegsafe.stock.services.suppliers import add_supplier, amend_supplier

__all__ = [
    "NewLot",
    "StalePlan",
    "add_assessment",
    "add_ingredient",
    "add_shelf_life",
    "add_supplier",
    "amend_assessment",
    "amend_delivery",
    "amend_ingredient",
    "amend_lot",
    "amend_supplier",
    "discard_lot",
    "draw_from_lot",
    "freeze_lot",
    "hold_lot",
    "import_deliveries",
    "keep_file",
    "make_lot",
    "next_lot_code",
    "open_lot",
    "pick_from_catalogue",
    "receive_delivery",
    "receive_lots",
    "reject_lot",
    "release_lot",
    "state_allergen",
    "thaw_lot",
    "withdraw_shelf_life",
]
