"""Strength, temperature and contact time against two ends, in the words a person acts on."""

from collections.abc import Iterator
from decimal import Decimal

from kegsafe.rules.cleaning.guidance import amount
from kegsafe.rules.cleaning.readings import Fit, Reading, fit
from kegsafe.rules.findings import Finding, Severity


def strength_in_limits(
    name: str,
    strength: Reading,
    minimum: Decimal | None,
    maximum: Decimal | None,
    source: str,
    verified: str,
) -> Iterator[Finding]:
    """Yield a stop outside the limits, an ask for a band across one, a warning on one."""
    read = strength.in_words("mg/l")
    lies = fit(strength, minimum, maximum)
    if lies is Fit.INSIDE:
        if strength.lowest == minimum or strength.highest == maximum:
            statement = f"The strength of {name}, {read}, is at its limit."
            yield Finding("cleaning.at_its_limit", Severity.WARN, statement, source, verified)
    elif lies is Fit.UNRESOLVED:
        yield ask(
            "cleaning.strength_unresolved",
            f"The strength of {name} was read {read}: part of that is outside "
            f"{_range(minimum, maximum)}. Adjust the solution and read again, or use a meter or "
            "a titration.",
            source,
            verified,
        )
    elif minimum is not None and strength.highest is not None and strength.highest < minimum:
        short = amount(minimum - strength.highest, "mg/l")
        statement = (
            f"{name} was too weak: {read}, {short} below {amount(minimum, 'mg/l')}. Make a "
            "stronger solution and do the step again."
        )
        yield stop("cleaning.too_weak", statement, source, verified)
    elif maximum is not None:
        over = amount(strength.lowest - maximum, "mg/l")
        statement = (
            f"{name} was too strong: {read}, {over} above {amount(maximum, 'mg/l')}. Rinse "
            "with drinking water, dilute it and do the step again."
        )
        yield stop("cleaning.too_strong", statement, source, verified)


def temperature_in_limits(
    name: str,
    degc: Decimal | None,
    minimum: Decimal | None,
    maximum: Decimal | None,
    source: str,
    verified: str,
) -> Iterator[Finding]:
    """Yield a stop for a temperature outside its limits, an ask for one not recorded."""
    if minimum is None and maximum is None:
        return
    if degc is None:
        yield ask(
            "cleaning.temperature_not_recorded",
            f"The temperature of {name} was not recorded. Measure it and record it.",
            source,
            verified,
        )
    elif minimum is not None and degc < minimum:
        yield stop(
            "cleaning.too_cold",
            f"{name} was too cold: {amount(degc, 'degC')}, {amount(minimum - degc, 'degC')} below "
            f"{amount(minimum, 'degC')}. Warm it and do the step again.",
            source,
            verified,
        )
    elif maximum is not None and degc > maximum:
        yield stop(
            "cleaning.too_hot",
            f"{name} was too hot: {amount(degc, 'degC')}, {amount(degc - maximum, 'degC')} above "
            f"{amount(maximum, 'degC')}. Let it cool and do the step again.",
            source,
            verified,
        )


def contact_in_limits(
    name: str,
    contact_s: Decimal | None,
    minimum: Decimal | None,
    maximum: Decimal | None,
    source: str,
    verified: str,
) -> Iterator[Finding]:
    """Yield a stop for too short or too long a contact, an ask for one not recorded."""
    if minimum is None and maximum is None:
        return
    if contact_s is None:
        yield ask(
            "cleaning.contact_not_recorded",
            f"How long {name} was in contact is not recorded. Record its start and its end.",
            source,
            verified,
        )
    elif minimum is not None and contact_s < minimum:
        yield stop(
            "cleaning.contact_too_short",
            f"{name} was in contact for {amount(contact_s, 's')}, "
            f"{amount(minimum - contact_s, 's')} less than {amount(minimum, 's')}. Do the step "
            "again for the whole time.",
            source,
            verified,
        )
    elif maximum is not None and contact_s > maximum:
        yield stop(
            "cleaning.contact_too_long",
            f"{name} stood for {amount(contact_s, 's')}, {amount(contact_s - maximum, 's')} over "
            f"{amount(maximum, 's')}. Rinse, look at seals and line for damage, and clean again.",
            source,
            verified,
        )


def _range(minimum: Decimal | None, maximum: Decimal | None) -> str:
    if maximum is None:
        return f"{amount(minimum or Decimal(0), 'mg/l')} or more"
    if minimum is None:
        return f"{amount(maximum, 'mg/l')} or less"
    return f"{amount(minimum, 'mg/l')} to {amount(maximum, 'mg/l')}"


def stop(rule: str, statement: str, source: str, verified: str) -> Finding:
    """Return a finding that fails the cycle: a limit is broken."""
    return Finding(rule, Severity.STOP, statement, source, verified)


def ask(rule: str, statement: str, source: str, verified: str = "venue") -> Finding:
    """Return a finding that leaves the cycle open: something is not recorded or not clear."""
    return Finding(rule, Severity.ASK, statement, source, verified)
