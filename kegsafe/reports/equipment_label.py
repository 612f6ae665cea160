"""The label of a piece of equipment: which one it is, and where its record is.

No date of a check or a clean is printed: a label stays on the steel for years and would be
believed.
"""

from collections.abc import Sequence
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
    that goes into the QR code, `invitation` what one finds there."""

    venue: str
    name: str
    particulars: tuple[tuple[str, str], ...]
    address: str
    invitation: str = "Scan for its record: what is due, and why."
    caution: str = CO2_AND_PRESSURE


def equipment_labels_pdf(labels: Sequence[EquipmentLabel], stock: LabelStock) -> bytes:
    """Return labels as a PDF on a stock, as many pages as they need, each set to fit.

    Raises ValueError without a label.
    """
    if not labels:
        raise ValueError("labels: at least one")
    buffer = BytesIO()
    title = ", ".join(label.name for label in labels[:3])
    canvas = new_canvas(buffer, stock.page_size, title=f"Label: {title}", author=labels[0].venue)
    corners = list(stock.corners())
    width, height = (side - 2 * stock.margin for side in stock.label_size)
    for place, label in enumerate(labels):
        if place and place % stock.per_page == 0:
            canvas.showPage()
        x, y = corners[place % stock.per_page]
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
        paragraph(label.invitation, style=style(0.8 * size)),
        paragraph(label.caution, style=style(0.7 * size)),
    ]
