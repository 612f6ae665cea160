"""Cleaning: the venue's plans and chemicals, the cycles recorded under them, and what followed."""

from kegsafe.cleaning.models.chemicals import Chemical, ChemicalBatch
from kegsafe.cleaning.models.corrective import CorrectiveAction
from kegsafe.cleaning.models.cycles import Cycle, CycleStep, LatestCycles
from kegsafe.cleaning.models.data_sheets import DataSheet
from kegsafe.cleaning.models.feed import FeedAddress
from kegsafe.cleaning.models.items import CleanItem, DrinkCarried
from kegsafe.cleaning.models.line_events import LineEvent, SettledEvents
from kegsafe.cleaning.models.plain_record import CleaningRecord
from kegsafe.cleaning.models.plans import CleaningPlan

__all__ = [
    "Chemical",
    "ChemicalBatch",
    "CleanItem",
    "CleaningPlan",
    "CleaningRecord",
    "CorrectiveAction",
    "Cycle",
    "CycleStep",
    "DataSheet",
    "DrinkCarried",
    "FeedAddress",
    "LatestCycles",
    "LineEvent",
    "SettledEvents",
]
