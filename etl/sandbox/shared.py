"""A workbook's shared texts, and what its styles say: a date, or struck out."""

import re
import zipfile
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from etl.sandbox.xml_stream import Handlers, feed, local_name

DateKind = Literal["date", "time", "elapsed"]

# Number formats that every workbook has without writing them out (ECMA-376 part 1,
# 18.8.30): dates 14 to 17 and 22, times 18 to 21 and 45 to 47 (46 elapsed). 27 to 36
# and 50 to 58 are dates of East Asian editions.
_BUILT_IN: dict[int, DateKind] = {
    **dict.fromkeys([*range(14, 18), 22, *range(27, 37), *range(50, 59)], "date"),
    **dict.fromkeys([*range(18, 22), 45, 47], "time"),
    46: "elapsed",
}
_LITERAL = re.compile(r'"[^"]*"|\\.|_.|\*.')
_ELAPSED = re.compile(r"\[(h+|m+|s+)\]")
_BRACKETS = re.compile(r"\[[^\]]*\]")
_LAST_SERIAL = 2_958_466  # the day after 9999-12-31
MILLISECONDS_A_DAY = 86_400_000


@dataclass(frozen=True)
class Styles:
    """`date_kinds`: per style number how it shows a number, None as one.

    `struck` are the numbers of the styles that strike a cell out, `decimal` is the sign
    that numbers are written with.
    """

    date_kinds: tuple[DateKind | None, ...] = ()
    struck: frozenset[int] = frozenset()
    decimal: str = "."
    is_1904: bool = False

    def text_of(self, number: str, style: int) -> str:
        """Return a number's cell as text: as a date where its style shows one."""
        try:
            value = float(number)
        except ValueError:
            return number
        kind = self.date_kinds[style] if style < len(self.date_kinds) else None
        date = kind and self._date_text(value, kind)
        return date or plain_number(value).replace(".", self.decimal)

    def _date_text(self, serial: float, kind: DateKind) -> str | None:
        """Return a serial as ISO text, to the millisecond; None where it is no date."""
        if not 0 <= serial < _LAST_SERIAL:
            return None
        milliseconds = round(serial * MILLISECONDS_A_DAY)
        if kind == "elapsed":
            return _clock(milliseconds)
        if kind == "time" and milliseconds < MILLISECONDS_A_DAY:
            return _clock(milliseconds)
        if self.is_1904:
            start = datetime(1904, 1, 1)
        elif 60 <= serial < 61:
            return None  # 29 February 1900, which never was
        else:
            start = datetime(1899, 12, 31 if serial < 60 else 30)
        try:
            return str(start + timedelta(milliseconds=milliseconds))
        except OverflowError:
            return None


def _clock(milliseconds: int) -> str:
    seconds, rest = divmod(milliseconds, 1000)
    text = f"{seconds // 3600:02}:{seconds // 60 % 60:02}:{seconds % 60:02}"
    return f"{text}.{rest:03}" if rest else text


def plain_number(value: float) -> str:
    """Return the shortest decimal that is this number; whole ones without a point."""
    if value == int(value) if abs(value) < 1e15 else False:
        return str(int(value))
    return repr(value)


def date_kind(code: str) -> DateKind | None:
    """Say whether a number format's code shows a date, a time or elapsed time."""
    code = _LITERAL.sub("", code.split(";")[0]).lower()
    if _ELAPSED.search(code):
        return "elapsed"
    code = _BRACKETS.sub("", code)
    if "general" in code:
        return None
    if "y" in code or "d" in code:
        return "date"
    if "h" in code or "s" in code:
        return "time"
    return "date" if "m" in code else None


def read_styles(
    archive: zipfile.ZipFile, name: str | None, decimal: str, *, is_1904: bool
) -> Styles:
    """Read which styles show dates, and which strike a cell out."""
    codes: dict[str, str] = {}
    formats: list[str] = []
    fonts: list[bool] = []
    fonts_used: list[str] = []
    is_in_cell_formats = is_in_fonts = False

    def start(element: str, attributes: dict[str, str]) -> None:
        nonlocal is_in_cell_formats, is_in_fonts
        element = local_name(element)
        if element == "numFmt":
            codes[attributes.get("numFmtId", "")] = attributes.get("formatCode", "")
        elif element == "cellXfs":
            is_in_cell_formats = True
        elif element == "xf" and is_in_cell_formats:
            formats.append(attributes.get("numFmtId", "0"))
            fonts_used.append(attributes.get("fontId", "0"))
        elif element == "fonts":
            is_in_fonts = True
        elif element == "font" and is_in_fonts:
            fonts.append(False)
        elif element == "strike" and fonts and is_in_fonts:
            fonts[-1] = attributes.get("val", "1") in ("1", "true")

    def end(element: str) -> None:
        nonlocal is_in_cell_formats, is_in_fonts
        element = local_name(element)
        is_in_cell_formats = is_in_cell_formats and element != "cellXfs"
        is_in_fonts = is_in_fonts and element != "fonts"

    if name:
        for _ in feed(archive, name, Handlers(start, end, lambda text: None)):
            pass
    kinds = (
        date_kind(codes[number])
        if number in codes
        else _BUILT_IN.get(int(number) if number.isdigit() else 0)
        for number in formats
    )
    struck_fonts = {str(font) for font, is_struck in enumerate(fonts) if is_struck}
    struck = (style for style, font in enumerate(fonts_used) if font in struck_fonts)
    return Styles(tuple(kinds), frozenset(struck), decimal, is_1904)


def read_shared_texts(archive: zipfile.ZipFile, name: str) -> list[str]:
    """Read the texts that cells refer to by number; a text's runs are joined."""
    texts: list[str] = []
    parts: list[str] = []
    is_text = is_phonetic = False

    def start(element: str, _: dict[str, str]) -> None:
        nonlocal is_text, is_phonetic
        element = local_name(element)
        is_text = element == "t" and not is_phonetic
        if element == "si":
            parts.clear()
        elif element == "rPh":
            is_phonetic = True

    def end(element: str) -> None:
        nonlocal is_text, is_phonetic
        element = local_name(element)
        is_text = False
        if element == "si":
            texts.append(unescaped("".join(parts)))
        elif element == "rPh":
            is_phonetic = False

    def text(part: str) -> None:
        if is_text:
            parts.append(part)

    for _ in feed(archive, name, Handlers(start, end, text)):
        pass
    return texts


_ESCAPE = re.compile(r"_x([0-9A-Fa-f]{4})_")


def unescaped(text: str) -> str:
    """Put in the characters that SpreadsheetML writes as _x000D_ (22.9.2.19)."""
    if "_x" not in text:
        return text

    def character(found: re.Match[str]) -> str:
        code = int(found[1], 16)
        return found[0] if code == 0 or 0xD800 <= code < 0xE000 else chr(code)

    return _ESCAPE.sub(character, text)
