"""Pressure equipment and gas: what there is, how it is connected, what was found on it."""

from kegsafe.pressure.models.checking import Check, OwnInterval
from kegsafe.pressure.models.documents import CheckPhotograph, Document
from kegsafe.pressure.models.gas import Connection, GasFill, Weighing
from kegsafe.pressure.models.items import GasRoom, Item, KegPlate

__all__ = [
    "Check",
    "CheckPhotograph",
    "Connection",
    "Document",
    "GasFill",
    "GasRoom",
    "Item",
    "KegPlate",
    "OwnInterval",
    "Weighing",
]
