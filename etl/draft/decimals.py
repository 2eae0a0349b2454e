"""The decimal sign of a file, by its texts alone: a number that is stored has none."""

from dataclasses import replace
from pathlib import Path

from etl.draft.header import Header
from etl.draft.layout import decimal_of
from etl.draft.said import Said
from etl.draft.sample import Layout, kind_of, read_rows

_UNSEEN = decimal_of(()).reason


def with_decimal(
    path: Path, layout: Layout, header: Header
) -> tuple[Said[str], Header]:
    """Return the decimal sign that the texts show, and the header with rows as read so.

    A workbook's, JSON's or Parquet's numbers are read with the sign of its texts, so
    that they do not tell it.
    """
    found = _said(header, {})
    if kind_of(path) == "text" or found.reason == _UNSEEN:
        return found, header
    numbers = _numbers(path, layout)
    found = _said(header, numbers)
    if found.value == ".":
        return found, header
    rows = [[numbers.get(cell, cell) for cell in row] for row in header.rows]
    return found, replace(header, rows=rows)


def _said(header: Header, numbers: dict[str, str]) -> Said[str]:
    return decimal_of(
        cell for row in header.rows for cell in row if cell not in numbers
    )


def _numbers(path: Path, layout: Layout) -> dict[str, str]:
    """Return the cells that hold numbers, each as it is read with a decimal comma."""
    point, comma = (read_rows(path, replace(layout, decimal=sign)) for sign in ".,")
    return {
        one: other
        for row, again in zip(point, comma, strict=True)
        for one, other in zip(row, again, strict=True)
        if one != other
    }
