"""Everything that changes recipes, preparations, batches and fills: each with its ledger entry."""

from kegsafe.batches.services.draws import NewDraw, add_draw
from kegsafe.batches.services.fills import (
    discard_fill,
    empty_fill,
    fill_keg,
    hold_fill,
    release_fill,
)
from kegsafe.batches.services.making import amend_batch, make_batch, make_preparation
from kegsafe.batches.services.recipes import (
    add_keg_shelf_life,
    add_recipe,
    add_recipe_item,
    amend_recipe,
    assess_recipe,
    remove_recipe_item,
    withdraw_keg_shelf_life,
)
from kegsafe.batches.services.tapping import tap_keg, untap

__all__ = [
    "NewDraw",
    "add_draw",
    "add_keg_shelf_life",
    "add_recipe",
    "add_recipe_item",
    "amend_batch",
    "amend_recipe",
    "assess_recipe",
    "discard_fill",
    "empty_fill",
    "fill_keg",
    "hold_fill",
    "make_batch",
    "make_preparation",
    "release_fill",
    "remove_recipe_item",
    "tap_keg",
    "untap",
    "withdraw_keg_shelf_life",
]
