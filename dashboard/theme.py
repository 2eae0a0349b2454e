"""Colours by meaning, and the Mantine theme.

The marks of a figure are mid-tones with at least 3:1 against both the light and the
dark paper, so that a figure needs no second version; its text and grid take their
colours from the page's CSS variables (assets/firmset.css).
"""

# Marks.
ACCENT = "#2a7f9e"
ABOVE = "#cf4f24"  # out of line, with all that is to be allowed for
UNKNOWN = "#a07d1c"  # what unrecorded checks could be
REFERENCE = "#7a858c"  # the others' rate, too few to say
BAND = "rgba(42, 127, 158, 0.22)"

# One mark and line style a method: never colour alone.
METHOD_STYLES = {
    "hammer": (ACCENT, "solid", "circle"),
    "hollow_bit": ("#8a63b5", "dash", "square"),
    "core": ("#5b8a3a", "dot", "diamond"),
}
OTHER_METHOD_STYLE = (REFERENCE, "dashdot", "x")

FONT = '"Segoe UI", "Helvetica Neue", "Noto Sans", "Liberation Sans", Arial, sans-serif'
FIGURE_TEXT = "#5b656b"
FIGURE_GRID = "rgba(122, 133, 140, 0.28)"

# Light to dark. Shades 8 (light) and 4 (dark) clear 4.5:1 for text on the paper.
PETROL = [
    "#e9f4f7",
    "#d3e7ed",
    "#a8d0dc",
    "#7db8ca",
    "#5aa5bb",
    "#3f93ab",
    "#2a7f9e",
    "#1d6680",
    "#12526a",
    "#0b3f52",
]

MANTINE_THEME = {
    "primaryColor": "petrol",
    "primaryShade": {"light": 8, "dark": 4},
    "colors": {"petrol": PETROL},
    "fontFamily": FONT,
    "defaultRadius": 2,
    "respectReducedMotion": True,
}
