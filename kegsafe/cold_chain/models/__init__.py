"""What the cold room keeps: readings, thermometers, loggers, excursions, cooling."""

from kegsafe.cold_chain.models.cooling import CoolingReading, CoolingRecord
from kegsafe.cold_chain.models.excursions import CorrectiveAction, GapDecision
from kegsafe.cold_chain.models.loggers import ImportedBadRow, ImportedLog, LogFile, Logger
from kegsafe.cold_chain.models.readings import HourOfReadings, LoggedReading, Reading
from kegsafe.cold_chain.models.thermometers import PlaceCooling, Thermometer, ThermometerCheck
from kegsafe.cold_chain.models.time_holds import TimeHold, TimeHoldReading

__all__ = [
    "CoolingReading",
    "CoolingRecord",
    "CorrectiveAction",
    "GapDecision",
    "HourOfReadings",
    "ImportedBadRow",
    "ImportedLog",
    "LogFile",
    "LoggedReading",
    "Logger",
    "PlaceCooling",
    "Reading",
    "Thermometer",
    "ThermometerCheck",
    "TimeHold",
    "TimeHoldReading",
]
