"""A workbook's first sheet as its XML has it."""

import io
import zipfile
from xml.etree import ElementTree


def sheet_cells(content: bytes) -> list[list[object]]:
    """Return the cells of the first sheet, a list a row; a formula fails the test."""
    with zipfile.ZipFile(io.BytesIO(content)) as book:
        root = ElementTree.fromstring(book.read("xl/worksheets/sheet1.xml"))
    space = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
    assert root.find(f".//{space}f") is None
    assert root.find(f".//{space}hyperlink") is None
    return [_cells(row, space) for row in root.iter(f"{space}row")]


def _cells(row: ElementTree.Element, space: str) -> list[object]:
    cells: list[object] = []
    for cell in row:
        at = _column(str(cell.get("r")))
        cells += [None] * (at - len(cells))
        if cell.get("t") == "inlineStr":
            shown = "".join(part.text or "" for part in cell.iter(f"{space}t"))
            cells.append(shown.replace("_x005F_", "_"))
        else:
            cells.append(float(str(cell.findtext(f"{space}v"))))
    return cells


def _column(reference: str) -> int:
    number = 0
    for letter in reference.rstrip("0123456789"):
        number = 26 * number + ord(letter) - 64
    return number - 1
