"""Plate pressure times volume, and what the laws hang on it.

The product can decide which law a vessel falls under, and the design purpose the maker
declared decides too. So every reading is shown and the open question asked; nothing is
classified here.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from types import MappingProxyType

from kegsafe.rules.findings import Finding, Severity
from kegsafe.rules.pressure.regimes import PRESSURE
from kegsafe.rules.tables import read_rows

_COLUMNS = ("rule", "regime", "value", "unit", "meaning", "source", "section", "verified")
_PA_PER_BAR, _PA_PER_PSI = Decimal(100_000), Decimal("6894.757")
_ML_PER_L = Decimal(1000)
_HUNDREDTH = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class Threshold:
    """One bound of a law, in the law's own unit."""

    rule: str
    regime: str
    value: Decimal
    unit: str
    citation: str
    verified: str


@dataclass(frozen=True, slots=True)
class Vessel:
    """A keg as its plate describes it. `rated_gauge_pa` None: the plate says nothing.

    `is_for_drinks_distribution` is what the maker declares it was designed for: transporting
    and distributing drinks. None where no declaration was seen.
    """

    name: str
    volume_ml: Decimal
    rated_gauge_pa: Decimal | None
    is_for_drinks_distribution: bool | None = None

    @property
    def litres(self) -> Decimal:
        return self.volume_ml / _ML_PER_L

    @property
    def bar(self) -> Decimal | None:
        """Plate pressure in bar gauge."""
        return None if self.rated_gauge_pa is None else self.rated_gauge_pa / _PA_PER_BAR

    @property
    def bar_litres(self) -> Decimal | None:
        """Plate pressure (gauge) times whole volume, bar L."""
        return None if self.bar is None else self.bar * self.litres


@cache
def thresholds() -> Mapping[str, Threshold]:
    """Return every bound by its rule id."""
    found = {}
    for row in read_rows(PRESSURE / "bar_litre.csv", _COLUMNS):
        row.text("meaning")
        rule, source = row.text("rule"), row.text("source")
        citation = f"{source}, {row.text('section')}"
        found[rule] = Threshold(
            rule,
            row.text("regime"),
            row.number("value"),
            row.text("unit"),
            citation,
            row.verified(),
        )
    return MappingProxyType(found)


def readings(vessel: Vessel, regime: str) -> tuple[Finding, ...]:
    """Return what the product implies under a regime ('' for all of them), as questions."""
    bar = vessel.bar
    if bar is None:
        return (_no_rating(vessel),)
    found = [_product(vessel, bar)]
    for key, read in _READINGS.items():
        if not regime or key == regime:
            found.extend(read(vessel, bar))
    return tuple(found)


def ped_category(litres: Decimal, bar: Decimal) -> tuple[str, str]:
    """Return what Annex II Table 2 (group 2 gas) prints for a vessel, and the rule that bounds it.

    Only the reading for a vessel that no exclusion takes out. Volume in L, pressure gauge in bar.
    """
    if bar <= _bound("ped.scope"):
        return "out of scope", "ped.scope"
    if litres <= _bound("ped.small_volume"):
        return _small_category(bar)
    for rule, word in _CATEGORIES:
        if litres * bar <= _bound(rule):
            return word, rule
    return "category IV", "ped.category_3"


_PRACTICE = "sound engineering practice, no CE mark"
_CATEGORIES = (
    ("ped.practice_product", _PRACTICE),
    ("ped.category_1", "category I"),
    ("ped.category_2", "category II"),
    ("ped.category_3", "category III"),
)


def _small_category(bar: Decimal) -> tuple[str, str]:
    if bar <= _bound("ped.small_pressure"):
        return _PRACTICE, "ped.small_pressure"
    if bar <= _bound("ped.small_category_3"):
        return "category III", "ped.small_category_3"
    return "category IV", "ped.small_category_3"


def is_within_drinks_exclusion(litres: Decimal, bar: Decimal) -> bool:
    """Say whether product and plate pressure both keep to Article 1(2)(r)."""
    return litres * bar <= _bound("ped.drinks_product") and bar <= _bound("ped.drinks_pressure")


def _union(vessel: Vessel, bar: Decimal) -> Iterator[Finding]:
    word, rule = ped_category(vessel.litres, bar)
    if rule == "ped.scope":
        yield _finding(rule, Severity.WARN, "Read from the plate: out of the directive's scope.")
        return
    fits = is_within_drinks_exclusion(vessel.litres, bar)
    if not fits:
        yield _finding(
            "ped.drinks_pressure",
            Severity.WARN,
            "The exclusion for drinks vessels fails: it needs at most "
            f"{_said('ped.drinks_product')} and at most {_said('ped.drinks_pressure')}.",
        )
    elif vessel.is_for_drinks_distribution is not False:
        yield _finding(
            "ped.drinks_product",
            Severity.WARN,
            "One reading: outside the directive, if it was designed for transporting and "
            "distributing drinks.",
        )
    if not fits or vessel.is_for_drinks_distribution is not True:
        yield _finding(rule, Severity.WARN, f"{'Other reading' if fits else 'Reading'}: {word}.")
    yield from _purpose(vessel, fits=fits)


def _purpose(vessel: Vessel, *, fits: bool) -> Iterator[Finding]:
    if fits and vessel.is_for_drinks_distribution is None:
        yield _finding(
            "ped.drinks_product",
            Severity.ASK,
            f"Unclear: what {vessel.name} was designed for decides. Ask for the maker's "
            "declaration; none seen is recorded as none seen.",
        )


def _kingdom(vessel: Vessel, bar: Decimal) -> Iterator[Finding]:
    product = vessel.litres * bar
    is_below = product < _bound("pssr.scheme_product")
    where = "below" if is_below else "not below"
    then = (
        "some parts (written scheme, examination) may not apply to the vessel; knowing the safe "
        "limits, maintenance and instruction still do"
        if is_below
        else "a written scheme and examinations are to be expected"
    )
    yield _finding(
        "pssr.scheme_product",
        Severity.ASK,
        f"{_plain(product)} bar L is {where} {_said('pssr.scheme_product')}: {then}. "
        "Whether the pipework needs a scheme of its own is for the competent person.",
    )


def _states(vessel: Vessel, bar: Decimal) -> Iterator[Finding]:
    # A plate says whole psi; a pascal of conversion noise must not decide.
    psi = (bar * _PA_PER_BAR / _PA_PER_PSI).quantize(_HUNDREDTH)
    side = "at or below" if psi <= _bound("asme.scope") else "above"
    yield _finding(
        "asme.scope",
        Severity.ASK,
        f"Rated {_plain(psi)} psi gauge, {side} {_said('asme.scope')}. Whether the vessel must "
        "carry a stamp is decided by the state: ask its boiler or pressure vessel inspector.",
    )


_READINGS: Mapping[str, Callable[[Vessel, Decimal], Iterator[Finding]]] = {
    "EU": _union,
    "UK": _kingdom,
    "US": _states,
}


def _product(vessel: Vessel, bar: Decimal) -> Finding:
    return Finding(
        "bar_litre.product",
        Severity.NOTE,
        f"{_plain(vessel.litres)} L times {_plain(bar)} bar gauge is "
        f"{_plain(vessel.litres * bar)} bar L.",
        "Maker's plate, as copied",
        "computed",
    )


def _no_rating(vessel: Vessel) -> Finding:
    return Finding(
        "bar_litre.no_rating",
        Severity.STOP,
        f"No rated pressure of {vessel.name} is on record: not allowed under pressure, and no law "
        "can be read from it.",
        "Record of the equipment",
        "record",
    )


def _bound(rule: str) -> Decimal:
    return thresholds()[rule].value


def _said(rule: str) -> str:
    return f"{_plain(_bound(rule))} {thresholds()[rule].unit.replace('.', ' ')}"


def _finding(rule: str, severity: Severity, statement: str) -> Finding:
    row = thresholds()[rule]
    return Finding(rule, severity, statement, row.citation, row.verified)


def _plain(number: Decimal) -> str:
    return f"{number.quantize(Decimal('0.1')).normalize():f}"
