"""A label's facts without a database, and a PDF read back as a person or a printer reads it."""

import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from io import BytesIO
from zoneinfo import ZoneInfo

import zxingcpp
from PIL import Image
from pypdf import PdfReader

from kegsafe.frame.cautions import ALLERGENS, DEFERENCE
from kegsafe.reports.labels import AllergenLine, LabelFacts

NEW_YORK = ZoneInfo("America/New_York")
ADDRESS = "https://bar.example/pour/k3f9x2ab/"

# The fourteen groups of Regulation (EU) 1169/2011, Annex II, each by its longest usual member.
FOURTEEN = (
    "Wheat (cereal containing gluten)",
    "Crustaceans",
    "Egg",
    "Fish",
    "Peanuts",
    "Soybeans",
    "Milk",
    "Hazelnut (tree nut)",
    "Celery",
    "Mustard",
    "Sesame seeds",
    "Sulphur dioxide and sulphites",
    "Lupin",
    "Molluscs",
)


def label_facts(**said: object) -> LabelFacts:
    """Return a label of a keg with everything on it."""
    usual: dict[str, object] = {
        "venue": "The Copper Finch",
        "name": "Orchard Sour",
        "container": "Keg K7",
        "particulars": (
            ("Batch", "260407-A"),
            ("Lot", "260407-A/42"),
            ("Filled", "Tue 7 Apr 2026, 18:00"),
            ("Ready from", "Wed 8 Apr 2026, 18:00"),
            ("Hold at or below", "4 °C (39.2 °F)"),
            ("Alcohol", "8.5 % vol"),
        ),
        "use_by": datetime(2026, 4, 13, 23, 59, 59, tzinfo=NEW_YORK),
        "date_because": "Apple juice (lot J-12) was prepared on Tue 7 Apr 2026: 7 days.",
        "date_source": "FDA Food Code 2022, 3-501.17 (read in the source).",
        "allergens": (
            AllergenLine("Contains", ("Egg", "Almond (tree nut)")),
            AllergenLine("May contain", ("Milk",)),
            AllergenLine("Allergens not known of", ("House bitters",)),
        ),
        "cautions": ("A keg is under pressure: relieve it before you open it.", ALLERGENS),
        "edition": f"FDA Food Code 2022, 2022 edition. {DEFERENCE}",
        "address": ADDRESS,
        "scan": "Before you pour: scan, or type k3f9x2ab",
        "printed_at": datetime(2026, 4, 7, 19, 5, tzinfo=NEW_YORK),
        "zone": NEW_YORK,
    }
    return LabelFacts(**{**usual, **said})


def crowded_facts() -> LabelFacts:
    """Return the most a label may have to hold: every field at its longest, on hold as well."""
    wide = "W"  # the widest letter there is
    return label_facts(
        venue=f"The Distillery with Rooms at the {wide * 88}",
        name=(
            "Smoked Pineapple and Lapsang Souchong Clarified Milk Punch with Brown Butter, "
            "Toasted Hazelnut and Salted Coconut 22"
        ),
        container=f"Keg {wide * 40}",
        allergens=(
            AllergenLine("Contains", FOURTEEN),
            AllergenLine("May contain", ("Pistachio (tree nut)",)),
        ),
        warning="ON HOLD: smells of vinegar, the manager tastes it tomorrow. PAST ITS DATE.",
    )


@dataclass(frozen=True, slots=True)
class Run:
    """A piece of text as it stands on the page, in points."""

    text: str
    font: str
    size: float
    x: float
    y: float


def reader(pdf: bytes) -> PdfReader:
    return PdfReader(BytesIO(pdf))


def words_of(pdf: bytes) -> str:
    """Return all text of a PDF on one line."""
    return " ".join(" ".join(page.extract_text() for page in reader(pdf).pages).split())


def runs_of(pdf: bytes, page: int = 0) -> list[Run]:
    """Return every piece of text with its font, size and place."""
    found: list[Run] = []

    def take(text, matrix, text_matrix, font, size) -> None:
        if text.strip():
            x = text_matrix[4] * matrix[0] + matrix[4]
            y = text_matrix[5] * matrix[3] + matrix[5]
            name = str(font["/BaseFont"]) if font else ""
            found.append(Run(" ".join(text.split()), name, size, x, y))

    reader(pdf).pages[page].extract_text(visitor_text=take)
    return found


def fonts_of(pdf: bytes) -> Iterator[tuple[str, bool]]:
    """Yield the name of each font of each page, and whether its file is inside the PDF."""
    for page in reader(pdf).pages:
        for font in page["/Resources"]["/Font"].get_object().values():
            about = font.get_object().get("/FontDescriptor", {})
            yield str(font.get_object()["/BaseFont"]), "/FontFile2" in about


def rendered(pdf: bytes, *, dpi: int = 203) -> list[Image.Image]:
    """Return each page as a thermal printer of so many dots an inch sees it."""
    command = ["pdftoppm", "-r", str(dpi), "-gray", "-png", "-singlefile"]
    pages = range(1, len(reader(pdf).pages) + 1)
    done = [
        subprocess.run([*command, "-f", str(n), "-"], input=pdf, capture_output=True, check=True)
        for n in pages
    ]
    return [Image.open(BytesIO(each.stdout)) for each in done]


def scanned(page: Image.Image) -> list[str]:
    """Return what every QR code of a page says, read by a library of its own."""
    found = zxingcpp.read_barcodes(page, formats=zxingcpp.BarcodeFormat.QRCode)
    return [each.text for each in found]
