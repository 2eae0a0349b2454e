"""An A4 page to write and draw on: fonts for many scripts, one size for all text."""

import unicodedata
from datetime import datetime
from pathlib import Path

from fpdf import FPDF
from fpdf.bidi import BIDI_BRACKETS, BidiParagraph
from fpdf.enums import TextDirection
from fpdf.fonts import TTFFont

FONTS = Path(__file__).parent.parent / "fonts"
FAMILY = "sheet"
FACES = {"": "DejaVuSans.ttf", "B": "DejaVuSans-Bold.ttf"}
WIDTH_MM, HEIGHT_MM, MARGIN_MM = 210.0, 297.0, 11.0
BODY_MM = WIDTH_MM - 2 * MARGIN_MM
# The fonts run wide: letters are set at so many per cent of their width.
STRETCH = 88
MM_PER_POINT = 25.4 / 72
LEADING = 1.3

Colour = tuple[int, int, int]
INK: Colour = (24, 28, 31)
SOFT: Colour = (84, 94, 100)
HAIR: Colour = (196, 202, 206)


def rgb(colour: str) -> Colour:
    """Return "#2a7f9e" as (42, 127, 158)."""
    red, green, blue = (int(colour[at : at + 2], 16) for at in (1, 3, 5))
    return red, green, blue


def as_seen(line: str) -> str:
    """Return one line in the order in which it stands on paper, from left to right.

    The library writes letters in the order of the text, which turns Hebrew and Arabic
    round; its own Unicode bidirectional algorithm (UAX 9) puts them right.
    """
    if not any(unicodedata.bidirectional(each) in ("R", "AL", "AN") for each in line):
        return line
    seen = BidiParagraph(line, TextDirection.LTR).get_reordered_characters()
    # Rule L4: a bracket among letters from right to left shows its mirror image.
    return "".join(
        BIDI_BRACKETS[each.character]["pair"]
        if each.embedding_level % 2 and each.character in BIDI_BRACKETS
        else each.character
        for each in seen
    )


class Paper:
    """One page. `scale` multiplies all sizes; `y` is the lower end of what is there."""

    def __init__(self, title: str, published_at: datetime, scale: float) -> None:
        pdf = FPDF(format="A4")
        pdf.set_auto_page_break(False)
        pdf.c_margin = 0
        for style, face in FACES.items():
            pdf.add_font(FAMILY, style, FONTS / face)
        # One edition gives the same bytes whenever the sheet is made.
        pdf.set_creation_date(published_at)
        pdf.set_title(title)
        pdf.set_creator("firmset")
        pdf.set_lang("en")
        pdf.add_page()
        pdf.set_stretching(STRETCH)
        self.pdf = pdf
        self.scale = scale
        self.y = MARGIN_MM

    def points(self, size: float) -> float:
        """Return a font size in points at this page's scale."""
        return size * self.scale

    def line_mm(self, size: float) -> float:
        """Return the height of a line of text in mm."""
        return self.points(size) * MM_PER_POINT * LEADING

    def gap(self, height_mm: float) -> None:
        """Leave room."""
        self.y += height_mm * self.scale

    def face(self, size: float, *, bold: bool = False, colour: Colour = INK) -> None:
        """Choose the font of what is written next."""
        self.pdf.set_font(FAMILY, "B" if bold else "", self.points(size))
        self.pdf.set_text_color(*colour)

    def write(
        self,
        text: str,
        size: float,
        *,
        bold: bool = False,
        colour: Colour = INK,
        indent_mm: float = 0.0,
    ) -> None:
        """Write a paragraph under what is there, over the whole width."""
        self.face(size, bold=bold, colour=colour)
        x, width, height = (
            MARGIN_MM + indent_mm,
            BODY_MM - indent_mm,
            self.line_mm(size),
        )
        for line in self.lines(text, width):
            self.pdf.set_xy(x, self.y)
            self.pdf.cell(width, height, as_seen(line))
            self.y += height

    def lines(self, text: str, width_mm: float) -> list[str]:
        """Return a text broken into lines, in the order in which it is read."""
        broken = self.pdf.multi_cell(
            width_mm, text=self.known(text), align="L", dry_run=True, output="LINES"
        )
        assert isinstance(broken, list)
        return [str(line) for line in broken]

    def put(
        self, text: str, x: float, width: float, height: float, *, right: bool = False
    ) -> None:
        """Write one line into a box at `y`, narrower where it would not fit."""
        shown = as_seen(self.known(text))
        needed = self.pdf.get_string_width(shown)
        if needed > width:
            self.pdf.set_stretching(STRETCH * width / needed)
        self.pdf.set_xy(x, self.y)
        self.pdf.cell(width, height, shown, align="R" if right else "L")
        self.pdf.set_stretching(STRETCH)

    def rule(self, colour: Colour = HAIR, width_mm: float = 0.2) -> None:
        """Draw a line over the whole width at `y`."""
        self.pdf.set_draw_color(*colour)
        self.pdf.set_line_width(width_mm)
        self.pdf.line(MARGIN_MM, self.y, WIDTH_MM - MARGIN_MM, self.y)

    def known(self, text: str) -> str:
        """Return a text with what the font lacks, or does not show, as code points."""
        font = self.pdf.fonts[FAMILY + self.pdf.font_style]
        glyphs = font.cmap if isinstance(font, TTFFont) else {}
        return "".join(
            each
            if ord(each) in glyphs and unicodedata.category(each)[0] != "C"
            else " "
            if each in "\t\n\r"
            else f"[U+{ord(each):04X}]"
            for each in text
        )

    def content(self) -> bytes:
        """Return the file."""
        return bytes(self.pdf.output())

    def close(self) -> None:
        """Let go of the font files, also of a page that is not wanted."""
        for font in self.pdf.fonts.values():
            if isinstance(font, TTFFont):
                font.close()
