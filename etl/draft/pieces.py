"""Several figures in a cell, `90/93`, under a header that names each of them."""

import json
import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import product

from etl.draft.header import Header, OfCell
from etl.draft.looks import Looks, looks_of
from etl.draft.match import match
from etl.draft.named import KNOWN
from etl.draft.numbers import header_readings, is_read
from etl.site_map import Piece, which_piece
from queries.columns import COLUMN_BY_NAME

# What parts them, in the header as in the cells. Common practice, no source.
_SIGNS = ("/", " / ", "|", ";")
_MOST = 4
# So many of the cells must hold as many values as the header names, nearly all figures.
_OFTEN = 0.9
_IN_BRACKETS = re.compile(r"[\[(]([^\])]*)[\])]")


def with_pieces(header: Header, decimal: str) -> Header:
    """Return the header with a column more for each figure of cells that hold several.

    The column of such cells stays, without its words and values.
    """
    for place in range(len(header.names)):
        looks = looks_of(header.rows, place, decimal)
        if _may_number_rows(header, place, looks):
            continue
        for sign in _SIGNS:
            said = _named(header.spoken(place)[-1], sign.strip())
            if len(said) > 1 and _are_figures(looks, sign, len(said)):
                header = _with_columns(header, place, sign, said)
                break
    return header


def _may_number_rows(header: Header, place: int, looks: Looks) -> bool:
    """Say whether a column may be the records' numbers, as 3/1 of a plate's anchor."""
    found = match(header.names[place], looks, COLUMN_BY_NAME["record_id"], None)
    return found.total >= KNOWN


def unnamed_pieces(header: Header, decimal: str) -> tuple[str, ...]:
    """Return a remark on each header whose cells hold figures that it does not name."""
    remarks = []
    for place, name in enumerate(header.names):
        looks = looks_of(header.rows, place, decimal)
        if place in header.pieces or looks.date_share > 0.5:
            continue
        ways = product(_SIGNS, range(2, _MOST + 1))
        found = next((way for way in ways if _are_figures(looks, *way)), None)
        if found is not None:
            remarks.append(_unnamed_said(name, *found))
    return tuple(remarks)


def _unnamed_said(name: str, sign: str, count: int) -> str:
    quoted = json.dumps(name, ensure_ascii=False)
    return (
        f"{name!r} holds {count} figures in a cell, parted by {sign!r}; a column is "
        f'one of them by {{from = {quoted}, split = "{sign}", piece = "1 of {count}"}}'
    )


def _named(name: str, sign: str) -> list[tuple[str, ...]]:
    """Return what each value of a cell is called; of one alone there are no several.

    By its own word, then behind what stands before the first: the depth of
    `Depth required/found` and `Depth (required/found)` is that of both. A unit said
    once is that of all.
    """
    unit = header_readings(name)[0].unit
    inside = next((one for one in _IN_BRACKETS.finditer(name) if sign in one[1]), None)
    if inside is not None:
        before, words = name[: inside.start()], inside[1].split(sign)
    else:
        bare = _IN_BRACKETS.sub(" ", name) if unit else name
        before, words = "", bare.split(sign)
    first = words[0].split()
    shared = before.split() or first[:-1]
    if not 2 <= len(words) <= _MOST or not all(word.strip() for word in words):
        return []
    named = []
    for number, word in enumerate(words):
        own = word.split()
        is_whole = number == 0 and not before
        ways = (own[-1:], own) if is_whole else (own, [*shared, *own])
        alone = dict.fromkeys(" ".join(one) for one in ways)
        named.append(tuple(_with_unit(one, unit) for one in alone))
    return named


def _with_unit(words: str, unit: str | None) -> str:
    if unit is None or not is_read(unit) or header_readings(words)[0].unit:
        return words
    return f"{words} [{unit}]"


def _are_figures(looks: Looks, sign: str, count: int) -> bool:
    """Say whether nearly all cells hold so many values, most of each a figure."""
    cells = [cell.split(sign) for cell in looks.filled]
    whole = [cell for cell in cells if len(cell) == count]
    if not whole or len(whole) < _OFTEN * len(cells):
        return False
    if looks.fraction_share == 1:
        return False  # Half an inch is one figure.
    return all(
        not its.filled or its.number_share + its.clear_share >= _OFTEN
        for place in range(count)
        for its in [looks_of(_stripped(whole), place, looks.decimal)]
    )


def _stripped(rows: Sequence[Sequence[str]]) -> list[list[str]]:
    return [[cell.strip() for cell in row] for row in rows]


def _called(one: OfCell) -> str:
    return f"{one.header}, {which_piece(one.piece)}"


def _with_columns(
    header: Header, place: int, sign: str, said: list[tuple[str, ...]]
) -> Header:
    width, count = len(header.names), len(said)
    rows = []
    for row in header.rows:
        padded = [*row[:width], *[""] * (width - len(row))]
        values = [value.strip() for value in padded[place].split(sign)]
        padded[place] = ""
        rows.append([*padded, *(values if len(values) == count else [""] * count)])
    pieces = {
        width + number: OfCell(header.names[place], Piece(sign, number + 1, count), one)
        for number, one in enumerate(said)
    }
    return replace(
        header,
        names=(
            *header.names,
            *map(_called, pieces.values()),
        ),
        bare=(*header.bare[:place], "", *header.bare[place + 1 :], *[""] * count),
        units=(*header.units, *[None] * count),
        rows=rows,
        pieces={**header.pieces, **pieces},
    )
