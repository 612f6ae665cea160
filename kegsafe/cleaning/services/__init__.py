"""What changes in the cleaning room: each verb in one transaction with its ledger entry."""

from kegsafe.cleaning.services.chemicals import (
    add_batch,
    add_chemical,
    amend_batch,
    amend_chemical,
    keep_data_sheet,
)
from kegsafe.cleaning.services.corrective import record_corrective_action, verify_corrective_action
from kegsafe.cleaning.services.cycles import close_cycle, give_up_cycle, start_circuit, verify_cycle
from kegsafe.cleaning.services.feed import make_feed_address, revoke_feed_address
from kegsafe.cleaning.services.items import add_item, amend_item, say_drink_carried
from kegsafe.cleaning.services.plain_record import amend_clean, record_clean, record_cleans
from kegsafe.cleaning.services.plans import change_plan, copy_plan, retire_plan
from kegsafe.cleaning.services.stages import StageRecord, record_stage, start_with_stage
from kegsafe.cleaning.services.steps import Measured, begin_step, end_step, record_step

__all__ = [
    "Measured",
    "StageRecord",
    "add_batch",
    "add_chemical",
    "add_item",
    "amend_batch",
    "amend_chemical",
    "amend_clean",
    "amend_item",
    "begin_step",
    "change_plan",
    "close_cycle",
    "copy_plan",
    "end_step",
    "give_up_cycle",
    "keep_data_sheet",
    "make_feed_address",
    "record_clean",
    "record_cleans",
    "record_corrective_action",
    "record_stage",
    "record_step",
    "retire_plan",
    "revoke_feed_address",
    "say_drink_carried",
    "start_circuit",
    "start_with_stage",
    "verify_corrective_action",
    "verify_cycle",
]
