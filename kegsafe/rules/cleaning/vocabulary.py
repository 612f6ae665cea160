"""The words a cleaning plan is written in."""

from enum import StrEnum


class Equipment(StrEnum):
    """What a plan is for."""

    KEG = "keg"
    LINE = "line"
    TAP = "tap"
    COUPLER = "coupler"
    FOAM_DETECTOR = "foam_detector"
    DRIP_TRAY = "drip_tray"
    JUG = "jug"
    NOZZLE = "nozzle"
    ICE_MACHINE = "ice_machine"
    ICE_BIN = "ice_bin"
    WATER_FILTER = "water_filter"
    GAS_LINE = "gas_line"

    @property
    def has_outlets(self) -> bool:
        """Whether drink leaves it at taps, each of which is read after a rinse."""
        return self is Equipment.LINE

    @property
    def holds_pressure(self) -> bool:
        """Whether it is under pressure when it comes to be opened."""
        return self in (Equipment.KEG, Equipment.WATER_FILTER)


class DrinkKind(StrEnum):
    """What the equipment carries, as far as cleaning tells drinks apart."""

    ANY = "any"
    FRESH = "fresh"  # fresh juice, puree, dairy, egg
    SWEET = "sweet"  # sugar, clarified or acid-adjusted juice, wine base
    PLAIN = "plain"  # spirit, water, acid: no sugar, no fruit
    BEER = "beer"
    ALCOHOL_FREE_BEER = "alcohol_free_beer"
    WINE = "wine"
    SOFT_DRINK = "soft_drink"
    SYRUP = "syrup"
    SPIRIT = "spirit"
    WATER = "water"


class StepKind(StrEnum):
    """What is done in a step."""

    LOCK_OUT = "lock_out"
    DEPRESSURISE = "depressurise"
    RINSE = "rinse"
    DISMANTLE = "dismantle"
    DETERGENT = "detergent"
    REASSEMBLE = "reassemble"
    SANITISE = "sanitise"
    DRAIN = "drain"
    PURGE = "purge"
    INSPECT = "inspect"
    REPLACE = "replace"

    @property
    def in_words(self) -> str:
        """Return the word of a checklist: 'lock out'."""
        return self.value.replace("_", " ")


class Chemistry(StrEnum):
    """What a chemical is for. A step that asks for a detergent takes an alkaline one as well."""

    ALKALINE = "alkaline"
    ACID = "acid"
    DETERGENT = "detergent"
    SANITISER = "sanitiser"


class Application(StrEnum):
    """How a solution meets the surface."""

    CIRCULATED = "circulated"
    SOAKED = "soaked"
    IMMERSION = "immersion"
    BY_HAND = "by_hand"
    MACHINE_STATIONARY_RACK = "machine_stationary_rack"
    MACHINE_OTHER = "machine_other"
    SURFACE_INDICATOR = "surface_indicator"


class LimitFrom(StrEnum):
    """Who sets a limit of a step."""

    NOBODY = "nobody"
    PLAN = "plan"
    LABEL = "label"
    CODE = "code"


class Verification(StrEnum):
    """How a step is proved."""

    NONE = "none"
    LOOKED_AT = "looked_at"
    STRENGTH = "strength"
    TAP_WATER_PH = "tap_water_ph"
    ALLERGEN_TEST = "allergen_test"
