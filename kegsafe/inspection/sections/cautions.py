"""What the pack does not say, and who goes before it."""

from collections.abc import Iterator

from kegsafe.frame.cautions import ALLERGENS, CLEANING_CHEMICALS, CO2_AND_PRESSURE, DEFERENCE
from kegsafe.inspection.blocks import Block, Bold, Heading, Scope, Section, Words
from kegsafe.pressure.deciders import DECIDERS

_SOURCES = (
    "A rule is quoted with its source and with how far that source was looked at. Read in the "
    "source: somebody opened it. Second-hand: another text says so. From memory: nobody looked it "
    "up. House rule, or common practice: no source outside. Check what is not read before you "
    "rely on it."
)


def _blocks(scope: Scope) -> Iterator[Block]:
    code = scope.venue.code
    yield Heading("Who decides")
    yield Words((DEFERENCE,))
    yield Words((Bold(f"{code.name}."), f" {code.deference}"))
    for sentence in DECIDERS:
        yield Words((sentence,))
    yield Heading("Cautions")
    for title, sentence in (
        ("Pressure and gas.", CO2_AND_PRESSURE),
        ("Cleaning chemicals.", CLEANING_CHEMICALS),
        ("Allergens.", ALLERGENS),
    ):
        yield Words((Bold(title), f" {sentence}"))
    yield Heading("How sources are marked")
    yield Words((_SOURCES,))


SECTION = Section("cautions", "Cautions, and who decides", _blocks, is_always=True)
