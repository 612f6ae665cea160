"""The label of a piece of pressure equipment: which one it is, and where its record is.

No date of a check is printed: a label stays on the steel for years and would be believed.
"""

from dataclasses import dataclass
from io import BytesIO

from reportlab.graphics.barcode.qr import QrCode
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, Frame, KeepInFrame, Spacer

from kegsafe.frame.cautions import CO2_AND_PRESSURE
from kegsafe.reports.label_stock import LabelStock
from kegsafe.reports.text import Bold, new_canvas, paragraph, style


@dataclass(frozen=True, slots=True)
class EquipmentLabel:
    """What the label says. `particulars` are label and text pairs, `address` the whole address
    of the record, which goes into the QR code."""

    venue: str
    name: str
    particulars: tuple[tuple[str, str], ...]
    address: str


def equipment_label_pdf(label: EquipmentLabel, stock: LabelStock) -> bytes:
    """Return the label as a PDF on a stock: the first place of a sheet, set to fit."""
    buffer = BytesIO()
    title = f"Label: {label.name}"
    canvas = new_canvas(buffer, stock.page_size, title=title, author=label.venue)
    x, y = next(stock.corners())
    width, height = (side - 2 * stock.margin for side in stock.label_size)
    frame = Frame(x + stock.margin, y + stock.margin, width, height, 0, 0, 0, 0)
    shrunk = KeepInFrame(width, height, _story(label, stock), mode="shrink")
    frame.addFromList([shrunk], canvas)
    canvas.save()
    return buffer.getvalue()


def _story(label: EquipmentLabel, stock: LabelStock) -> list[Flowable]:
    size = stock.type_size
    lines = [
        paragraph(Bold(f"{name}:"), f" {text}", style=style(size))
        for name, text in label.particulars
    ]
    return [
        paragraph(label.venue, style=style(0.9 * size)),
        paragraph(label.name, style=style(2 * size, bold=True)),
        *lines,
        Spacer(0, mm),
        QrCode(label.address, width=stock.qr_size, height=stock.qr_size, qrLevel="M"),
        paragraph("Scan for its record: what is due, and why.", style=style(0.8 * size)),
        paragraph(CO2_AND_PRESSURE, style=style(0.7 * size)),
    ]
