"""A sheet's rows out of its XML."""

from functools import lru_cache

from etl.sandbox.shared import Styles, unescaped
from etl.sandbox.xml_stream import Handlers, local_name

MAX_COLUMNS = 1_000
# Never blank: the value is missing, and somebody meant there to be one.
NO_CACHED_VALUE = "=formula without value"

MAX_ROW_CHARACTERS = 1 << 20
TOO_LONG = "long"

# The row's number, its cells by column number, and ",2,7," where 2 and 7 are errors.
SheetRow = tuple[int, dict[int, str], str]


class SheetReader:
    """Takes a sheet's XML piece by piece and keeps the rows until they are taken.

    Rows without a value are left out; hidden ones are there. `struck` are the numbers
    of those that are struck out in all of their cells. Raises ValueError where a value
    stands beyond MAX_COLUMNS.
    """

    def __init__(self, texts: list[str], styles: Styles) -> None:
        self._texts = texts
        self._styles = styles
        self._rows: list[SheetRow] = []
        self.struck: list[int] = []
        self._struck_count = 0
        self._row = 0
        self._column = 0
        self._cells: dict[int, str] = {}
        self._faults: list[int] = []
        self._attributes: dict[str, str] = {}
        self._value: list[str] | None = None
        self._inline: list[str] = []
        self._has_formula = False
        self._within = ""
        self._is_phonetic = False

    def handlers(self) -> Handlers:
        """Return what the XML parser calls."""
        return Handlers(self._start, self._end, self._text)

    def take(self) -> list[SheetRow]:
        """Return the rows read since the last time."""
        rows, self._rows = self._rows, []
        return rows

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        if ":" in name:
            name = local_name(name)
        if name == "v":
            self._within, self._value = "v", []
        elif name == "c":
            self._begin_cell(attributes)
        elif name == "row":
            number = attributes.get("r", "")
            self._row = int(number) if number.isdigit() else self._row + 1
            self._column, self._cells, self._faults = 0, {}, []
            self._struck_count = 0
        elif name == "f":
            self._has_formula, self._within = True, ""
        elif name == "t" and not self._is_phonetic:
            self._within = "t"
        elif name == "rPh":
            self._is_phonetic = True

    def _begin_cell(self, attributes: dict[str, str]) -> None:
        self._column = _column_of(attributes) or self._column + 1
        self._attributes = attributes
        self._value, self._inline, self._has_formula = None, [], False

    def _text(self, text: str) -> None:
        if self._within == "v" and self._value is not None:
            self._value.append(text)
        elif self._within == "t":
            self._inline.append(text)

    def _end(self, name: str) -> None:
        if ":" in name:
            name = local_name(name)
        if name == "c":
            self._end_cell()
        elif name in ("v", "t", "f"):
            self._within = ""
        elif name == "rPh":
            self._is_phonetic = False
        elif name == "row" and self._cells:
            self._end_row()

    def _end_row(self) -> None:
        faults = ",".join(map(str, self._faults))
        cells = self._cells
        if self._struck_count == len(cells):
            self.struck.append(self._row)
        if sum(map(len, cells.values())) > MAX_ROW_CHARACTERS:
            first = min(cells)
            cells, faults = {first: cells[first][:1000]}, TOO_LONG
        self._rows.append((self._row, cells, faults and f",{faults},"))

    def _end_cell(self) -> None:
        kind = self._attributes.get("t", "n")
        text = "".join(self._inline if self._value is None else self._value)
        if not text and self._has_formula and kind != "str":
            text, kind = NO_CACHED_VALUE, "e"
        if not text:
            return
        if self._column > MAX_COLUMNS:
            raise ValueError(
                f"has a value in row {self._row}, column {self._column}; expected at "
                f"most {MAX_COLUMNS} columns; send the sheet's table alone"
            )
        if kind == "e":
            self._faults.append(self._column)
        cell = self._cell_text(kind, text)
        if cell:
            self._cells[self._column] = cell
            if self._styles.struck:
                self._struck_count += self._style() in self._styles.struck

    def _style(self) -> int:
        style = self._attributes.get("s", "0")
        return int(style) if style.isdigit() else 0

    def _cell_text(self, kind: str, text: str) -> str:
        match kind:
            case "s":
                number = int(text) if text.strip().isdigit() else -1
                if not 0 <= number < len(self._texts):
                    raise ValueError(
                        f"is a damaged workbook (row {self._row}, column "
                        f"{self._column}: no shared text {text!r}); send it again"
                    )
                return self._texts[number]
            case "b":
                return "true" if text.strip() == "1" else "false"
            case "n":
                return self._styles.text_of(text, self._style())
            case "str" | "inlineStr":
                return unescaped(text)
            case _:
                return text


def _column_of(attributes: dict[str, str]) -> int:
    return column_number(attributes.get("r", "").rstrip("0123456789"))


@lru_cache(maxsize=MAX_COLUMNS)
def column_number(letters: str) -> int:
    """Return a column's number, from 1: 2 of B; 0 where the letters are none."""
    number = 0
    for letter in letters[:3]:
        if not "A" <= letter <= "Z":
            return 0
        number = number * 26 + ord(letter) - 64
    return number
