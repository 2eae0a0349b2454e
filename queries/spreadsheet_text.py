"""Text for spreadsheets: the one rule by which nothing in a CSV file is run.

A cell that starts with = + - @, tab, carriage return or line feed is a formula to a
spreadsheet, or can become one; so is what follows a semicolon, a tab or a line's end in
it, where a spreadsheet parts cells there. An apostrophe put before it makes it text.
Such apostrophes that a site wrote itself get one more, so that the rule can be undone.
"""

import re

import polars as pl

# What parts cells, and what starts a formula after it. RE2 and Python read both alike.
_INNER = r"(^|[;\t\r\n])('*[=+\-@])"
_INNER_DISARMED = r"(^|[;\t\r\n])'('*[=+\-@])"
_BLANK = r"^('*[\t\r\n])"
_BLANK_DISARMED = r"^'('*[\t\r\n])"


def disarmed(text: str) -> str:
    """Return a text as a CSV cell may hold it; armed_again undoes it."""
    return re.sub(_BLANK, r"'\1", re.sub(_INNER, r"\1'\2", text))


def armed_again(text: str) -> str:
    """Return a text as it was before it was disarmed."""
    return re.sub(_INNER_DISARMED, r"\1\2", re.sub(_BLANK_DISARMED, r"\1", text))


def disarmed_column(texts: pl.Expr) -> pl.Expr:
    """Return disarmed of every text of a column."""
    inner = texts.str.replace_all(_INNER, "${1}'${2}")
    return inner.str.replace(_BLANK, "'${1}")
