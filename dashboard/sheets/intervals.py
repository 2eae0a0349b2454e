"""A rate with its interval, drawn with lines: no picture file, sharp at any size."""

from collections.abc import Sequence
from math import sqrt

from dashboard import theme, words
from dashboard.sheets.content import Picture
from dashboard.sheets.paper import HAIR, INK, SOFT, Colour, Paper, rgb

DRAWN_MM = 30.0
TICKS = (0.0, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0)
# Marks of the scale that stand closer than this would run into each other.
TICK_GAP_MM = 5.5
TICK_SIZE = 5.6
# The scale follows the intervals; a range of truth that leaves it gets an arrow.
HEADROOM = 1.15
LEAST_REACH = 0.02

ACCENT, ABOVE = rgb(theme.ACCENT), rgb(theme.ABOVE)
UNKNOWN = rgb(theme.UNKNOWN)


def reach_of(pictures: Sequence[Picture]) -> float:
    """Return the rate at the right end of the scale of all lines."""
    tops = [max(each.high, each.others_rate or 0.0) for each in pictures]
    return min(1.0, max([LEAST_REACH, *tops]) * HEADROOM)


def place(rate: float, reach: float) -> float:
    """Return where a rate stands, in mm: by its root, so that small ones part."""
    return DRAWN_MM * sqrt(min(max(rate, 0.0), reach) / reach)


def ticks(reach: float) -> list[float]:
    """Return the rates marked on the scale, far enough apart to be read."""
    shown: list[float] = []
    for rate in TICKS:
        far = not shown or place(rate, reach) - place(shown[-1], reach) >= TICK_GAP_MM
        if rate <= reach and far:
            shown.append(rate)
    return shown


def draw_scale(paper: Paper, reach: float, x: float, height: float, lines: int) -> None:
    """Draw the scale's marks at `y`, and its upright hairs through all lines."""
    pdf = paper.pdf
    pdf.set_draw_color(*HAIR)
    pdf.set_line_width(0.1)
    paper.face(TICK_SIZE, colour=SOFT)
    for rate in ticks(reach):
        at = x + place(rate, reach)
        top = paper.y + height
        pdf.line(at, top, at, top + height * lines)
        text = f"{100 * rate:g}{words.SPACE}%"
        width = pdf.get_string_width(text)
        pdf.set_xy(at - width / 2, paper.y)
        pdf.cell(width, height, text)


def draw_interval(
    paper: Paper, picture: Picture, reach: float, x: float, y: float
) -> None:
    """Draw one check: range of truth, interval, the others' rate and the rate."""
    size = paper.scale
    _across(paper, picture.truth_low, picture.truth_high, reach, x, y, UNKNOWN, 0.35)
    if picture.truth_high > reach:
        _arrow(paper, x + DRAWN_MM, y)
    colour = ABOVE if picture.is_flagged else ACCENT
    _across(paper, picture.low, picture.high, reach, x, y, paler(colour), 1.3)
    if picture.others_rate is not None:
        at = x + place(picture.others_rate, reach)
        paper.pdf.set_draw_color(*INK)
        paper.pdf.set_line_width(0.3 * size)
        paper.pdf.line(at, y - 1.7 * size, at, y + 1.7 * size)
    at = x + place(picture.rate, reach)
    _point(paper, at, y, is_flagged=picture.is_flagged)


def paler(colour: Colour) -> Colour:
    """Return a colour half way to the paper, on which its own mark stands out."""
    red, green, blue = ((each + 255) // 2 for each in colour)
    return red, green, blue


def _across(
    paper: Paper,
    low: float,
    high: float,
    reach: float,
    x: float,
    y: float,
    colour: Colour,
    width: float,
) -> None:
    paper.pdf.set_draw_color(*colour)
    paper.pdf.set_line_width(width * paper.scale)
    paper.pdf.line(x + place(low, reach), y, x + place(high, reach), y)


def _arrow(paper: Paper, x: float, y: float) -> None:
    size = paper.scale
    paper.pdf.set_draw_color(*UNKNOWN)
    paper.pdf.line(x - 1.2 * size, y - 0.8 * size, x, y)
    paper.pdf.line(x - 1.2 * size, y + 0.8 * size, x, y)


def _point(paper: Paper, x: float, y: float, *, is_flagged: bool) -> None:
    """Draw the rate: a round point, or a diamond where it is out of line."""
    size = 0.8 * paper.scale
    paper.pdf.set_fill_color(*(ABOVE if is_flagged else ACCENT))
    if is_flagged:
        tall = 1.5 * size
        corners = ((x - tall, y), (x, y - tall), (x + tall, y), (x, y + tall))
        paper.pdf.polygon(corners, style="F")
    else:
        paper.pdf.ellipse(x - size, y - size, 2 * size, 2 * size, style="F")
