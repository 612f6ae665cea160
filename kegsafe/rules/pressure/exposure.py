"""How much CO2 a person may breathe, by whose rule; where a regime is silent, the strictest."""

from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from kegsafe.rules.pressure.regimes import PRESSURE
from kegsafe.rules.tables import read_rows
from kegsafe.science.tables import SHARED

_ROLE_COLUMNS = ("role", "regime", "limit_name", "source", "verified")
_LIMIT_COLUMNS = ("regime", "limit_name", "ppm", "averaging", "source", "section", "verified")


class Role(StrEnum):
    """What a limit is for."""

    LONG = "long"  # a shift
    SHORT = "short"  # a quarter of an hour
    IMMEDIATE = "immediate"  # dangerous to life at once
    FIRST_ALARM = "first_alarm"
    MAIN_ALARM = "main_alarm"


@dataclass(frozen=True, slots=True)
class ExposureLimit:
    """One published limit, by volume. `is_own` is false where another regime's had to serve."""

    role: Role
    regime: str
    name: str
    ppm: int
    averaging: str
    citation: str
    verified: str
    is_own: bool = True


def exposure_limit(role: Role, regime: str) -> ExposureLimit:
    """Return the strictest limit of a regime in a role; of all regimes where it has none.

    '' is no regime chosen: the strictest of all.
    """
    of_role = [limit for limit in _limits() if limit.role is role]
    own = [limit for limit in of_role if limit.regime == regime]
    strictest = min(own or of_role, key=lambda limit: limit.ppm)
    if own:
        return strictest
    return ExposureLimit(
        strictest.role,
        strictest.regime,
        strictest.name,
        strictest.ppm,
        strictest.averaging,
        strictest.citation,
        strictest.verified,
        is_own=False,
    )


@cache
def _limits() -> tuple[ExposureLimit, ...]:
    published = {
        (row.text("regime"), row.text("limit_name")): row
        for row in read_rows(SHARED / "science" / "co2_exposure.csv", _LIMIT_COLUMNS)
    }
    found = []
    for row in read_rows(PRESSURE / "exposure_roles.csv", _ROLE_COLUMNS):
        key = (row.text("regime"), row.text("limit_name"))
        if key not in published:
            raise row.wrong("limit_name", "a limit of science/co2_exposure.csv")
        limit = published[key]
        found.append(
            ExposureLimit(
                Role(row.one_of("role", [each.value for each in Role])),
                *key,
                limit.whole_number("ppm"),
                limit.text("averaging"),
                limit.text("source"),
                limit.text("verified").split(" http")[0].removeprefix("value "),
            )
        )
    return tuple(found)
