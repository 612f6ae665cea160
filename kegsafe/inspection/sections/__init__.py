"""The sections of a pack, in the order they are read. Each shows what its room's pages show."""

from kegsafe.inspection.blocks import Section
from kegsafe.inspection.sections import (
    allergens,
    cautions,
    cleaning,
    corrective,
    deliveries,
    fills,
    gaps,
    haccp,
    pressure,
    staff,
    temperature,
)

SECTIONS: tuple[Section, ...] = (
    haccp.SECTION,
    fills.SECTION,
    allergens.SECTION,
    cleaning.SECTION,
    temperature.SECTION,
    pressure.SECTION,
    corrective.SECTION,
    deliveries.SECTION,
    staff.SECTION,
    gaps.SECTION,
    cautions.SECTION,
)
CHOICES = tuple((each.key, each.title) for each in SECTIONS if not each.is_always)


def chosen(keys: list[str]) -> tuple[Section, ...]:
    """Return the sections of these keys with those that no pack is without, in their order.

    Raises ValueError for a key that no section has.
    """
    known = {each.key for each in SECTIONS}
    if unknown := sorted(set(keys) - known):
        raise ValueError(f'"{unknown[0]}" is no section. Known: {", ".join(sorted(known))}.')
    return tuple(each for each in SECTIONS if each.is_always or each.key in keys)


def titles_of(keys: list[str]) -> list[str]:
    """Return the titles of sections; a key that is no section any more stands for itself."""
    titles = {section.key: section.title for section in SECTIONS}
    return [titles.get(key, key) for key in keys]
