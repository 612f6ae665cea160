"""What labels are printed on: rolls for a thermal printer, and sheets to cut or to peel."""

from collections.abc import Iterator
from dataclasses import dataclass
from types import MappingProxyType

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import inch, mm


@dataclass(frozen=True, slots=True)
class LabelStock:
    """One kind of stock. Lengths are in points; type sizes grow from `type_size`.

    `across` and `down` count the labels of a page; a roll has one a page.
    `is_landscape` sets QR code and particulars beside the rest instead of below it.
    """

    key: str
    name: str
    page_size: tuple[float, float]
    label_size: tuple[float, float]
    margin: float
    type_size: float
    qr_size: float
    across: int = 1
    down: int = 1
    is_landscape: bool = False
    has_room_for_every_caution: bool = False

    @property
    def per_page(self) -> int:
        return self.across * self.down

    def corners(self) -> Iterator[tuple[float, float]]:
        """Yield the lower left corner of each label of a page, in reading order."""
        width, height = self.label_size
        left = (self.page_size[0] - self.across * width) / 2
        top = (self.page_size[1] + self.down * height) / 2
        for row in range(1, self.down + 1):
            for column in range(self.across):
                yield left + column * width, top - row * height


def _roll(key: str, width_mm: int, height_mm: int, **more) -> LabelStock:
    size = (width_mm * mm, height_mm * mm)
    name = f"Roll, {width_mm} x {height_mm} mm"
    return LabelStock(key, name, page_size=size, label_size=size, **more)


def _sheet(
    key: str, paper: str, page_size: tuple[float, float], label_size: tuple[float, float]
) -> LabelStock:
    return LabelStock(
        key,
        f"{paper} sheet, 8 labels",
        page_size=page_size,
        label_size=label_size,
        margin=3 * mm,
        type_size=7.6,
        qr_size=24 * mm,
        across=2,
        down=4,
        is_landscape=True,
    )


# The sizes of rolls and of eight to a sheet: common practice, no source.
_ROLL_100 = _roll(
    "roll-100x150",
    100,
    150,
    margin=4 * mm,
    type_size=11,
    qr_size=34 * mm,
    has_room_for_every_caution=True,
)
_ROLL_62 = _roll("roll-62", 62, 100, margin=2.5 * mm, type_size=7.6, qr_size=24 * mm)
_SHEET_A4 = _sheet("sheet-a4", "A4", A4, (99 * mm, 68 * mm))
_SHEET_LETTER = _sheet("sheet-letter", "US Letter", LETTER, (4 * inch, 2.6 * inch))

STOCKS = MappingProxyType(
    {stock.key: stock for stock in (_ROLL_100, _ROLL_62, _SHEET_A4, _SHEET_LETTER)}
)
USUAL_STOCK = _ROLL_100
