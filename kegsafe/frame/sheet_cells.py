"""The one place that makes text harmless for a spreadsheet program: CSV cells and workbook cells.

A cell that a person began with `=` is a formula to the program that opens the file, and may
fetch or run something. Here it stays what it was: text.
"""

from openpyxl.cell import WriteOnlyCell

from kegsafe.frame.xml_text import as_xml_holds

_FORMULA = ("=", "+", "-", "@", "\t", "\r")
LONGEST_CELL = 32_767  # characters a cell of a workbook holds


def csv_text(text: str) -> str:
    """Return a text for a cell of a CSV file: never a formula."""
    return f"'{text}" if text.startswith(_FORMULA) else text


def text_cell(sheet: object, text: str) -> WriteOnlyCell:
    """Return a cell of a workbook that holds a text as it was typed, and nothing else."""
    cell = WriteOnlyCell(sheet, value=as_xml_holds(text)[:LONGEST_CELL])
    cell.data_type = "s"
    return cell
