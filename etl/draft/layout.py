"""How a file is read: its encoding, delimiter, decimal sign and sheet."""

import codecs
import csv
import html
import re
import zipfile
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

from etl.draft.encodings import encoding_by_words
from etl.draft.numbers import decimal_sign
from etl.draft.said import Said
from etl.draft.sample import chunks, first_bytes, text_lines
from queries.errors import FirmsetError

DELIMITERS = (",", ";", "\t", "|")
_NAMES = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
_MAX_SHEET_LIST_BYTES = 1 << 20


def encoding_of(path: Path) -> Said[str]:
    """Return a text file's encoding: from its mark, else from what its bytes can be."""
    start = first_bytes(path)
    if start.startswith(codecs.BOM_UTF8):
        return Said("utf-8", "sure", "the file begins with the mark of UTF-8")
    if start.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return Said("utf-16", "sure", "the file begins with the mark of UTF-16")
    if start.count(0) > len(start) // 5:
        return Said("utf-16", "guess", "many zero bytes, but no mark of UTF-16")
    if _is_utf8(path):
        return Said("utf-8", "sure", "all of its bytes are valid UTF-8")
    return encoding_by_words(start)


def _is_utf8(path: Path) -> bool:
    decoder = codecs.getincrementaldecoder("utf-8")()
    try:
        for chunk in chunks(path):
            decoder.decode(chunk)
        decoder.decode(b"", final=True)
    except UnicodeDecodeError:
        return False
    return True


def delimiter_of(path: Path, encoding: str) -> Said[str]:
    """Return the delimiter that cuts most rows into the same number of cells."""
    lines = text_lines(path, encoding).read(1 << 20)
    scores = {sign: _evenness(lines, sign) for sign in DELIMITERS}
    best = max(DELIMITERS, key=lambda sign: scores[sign][:2])
    share, cells = scores[best]
    if cells < 2:
        if signs := _within_quotes(lines):
            raise FirmsetError(
                f"{path}: every line is in quotes, as one cell with a {signs} in it; "
                "export it again, or take the quotes at both ends of the lines away"
            )
        raise FirmsetError(
            f"{path}: no {', '.join(_NAMES.values())} cuts its rows into columns; "
            "expected one of these between the cells"
        )
    rivals = [
        _NAMES[sign]
        for sign in DELIMITERS
        if sign != best
        and scores[sign][0] >= share - 0.1
        # Decimal commas cut rows evenly too, but into fewer cells.
        and scores[sign][1] > cells / 2
    ]
    reason = f"{share:.0%} of the rows have {cells} cells with a {_NAMES[best]}"
    if rivals:
        return Said(best, "likely", f"{reason}; {', '.join(rivals)} may be meant")
    return Said(best, "sure" if share > 0.9 else "likely", reason)


def _within_quotes(lines: str) -> str:
    """Return the name of the delimiter within lines that are one quoted cell each."""
    try:
        rows = [row for row in csv.reader(lines.splitlines(keepends=True)) if row]
    except csv.Error:
        return ""
    is_quoted = all(line.startswith('"') for line in lines.splitlines() if line)
    if not rows or not is_quoted or any(len(row) > 1 for row in rows):
        return ""
    texts = "\n".join(cell for [cell] in rows)
    best = max(DELIMITERS, key=lambda sign: _evenness(texts, sign)[:2])
    return _NAMES[best] if _evenness(texts, best)[1] > 1 else ""


def _evenness(lines: str, delimiter: str) -> tuple[float, int]:
    """Return the share of rows with the commonest number of cells over 1, and it."""
    try:
        rows = csv.reader(lines.splitlines(keepends=True), delimiter=delimiter)
        widths = Counter(
            len(row) for row, _ in zip(rows, range(500), strict=False) if row
        )
    except csv.Error:
        return 0.0, 0
    wide = [(count, cells) for cells, count in widths.items() if cells > 1]
    if not wide:
        return 0.0, 0
    count, cells = max(wide)
    return count / widths.total(), cells


def decimal_of(cells: Iterable[str]) -> Said[str]:
    """Return the decimal sign that the numbers show."""
    signs = Counter(sign for cell in cells if (sign := decimal_sign(cell)))
    if not signs:
        return Said(".", "likely", "no number with decimals was seen")
    [(sign, count), *others] = signs.most_common()
    name = "comma" if sign == "," else "point"
    reason = f"{count} numbers have a decimal {name}"
    if not others:
        return Said(sign, "sure", reason)
    against = others[0][1]
    reason += f", {against} the other sign"
    return Said(sign, "likely" if count >= 20 * against else "guess", reason)


def sheets_of(path: Path) -> list[str]:
    """Return the names of a workbook's sheets, in its order."""
    try:
        with zipfile.ZipFile(path) as archive, archive.open("xl/workbook.xml") as file:
            text = file.read(_MAX_SHEET_LIST_BYTES).decode("utf-8", "replace")
    except (zipfile.BadZipFile, KeyError, OSError, RuntimeError) as error:
        raise FirmsetError(f"{path}: not an .xlsx workbook") from error
    return [
        html.unescape(name)
        for name in re.findall(r'<(?:\w+:)?sheet\s[^>]*?\bname="([^"]*)"', text)
    ]
