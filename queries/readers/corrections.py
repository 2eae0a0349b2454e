"""Rejected rows in a form that can be corrected and loaded again."""

import json
import tomllib
from collections.abc import Collection
from functools import cache
from math import inf
from typing import NamedTuple

import duckdb
import polars as pl

from queries.json_names import RepeatedKeyError, is_list_of_objects, leaves
from queries.surplus_cells import part_surplus

RECEIPT_HEADER = "firmset receipt"
ROW_HEADER = "firmset row"
REASON_HEADER = "firmset reason"
REVISION_HEADER = "firmset revision"
# In front of the file's own columns; by these the intake knows such a file.
MARK_HEADERS = (RECEIPT_HEADER, ROW_HEADER, REASON_HEADER, REVISION_HEADER)
# In front of a column's own name, of a row that is given back as it is held: what its
# file had was not kept. Read in our units and dates, whatever the site's are.
HELD = "firmset "
# Cells that stood beyond the last column, or a line that cannot be parted in cells.
SURPLUS_HEADER = "firmset surplus"


def read_corrections(
    con: duckdb.DuckDBPyConnection, source_file_id: int | None = None
) -> pl.DataFrame:
    """Return the rejected rows that are not cleared, as texts, one row each.

    Of one receipt or of all. The columns are MARK_HEADERS, then those of every file
    concerned, as it named them, then SURPLUS_HEADER where something stood outside
    them. Cells and names are as the site wrote them; a number of a JSON record with the
    decimal sign of its site map, as a correction is read. Of a row that was displaced
    only what was read of it is there to be given back: it has columns of its own.
    """
    rows = con.execute(
        """
        select
            rejected_row.source_file_id, source_row, reason, raw_text,
            case when reason_code = 'displaced' then [] else headers end,
            site_map.text, reason_code
        from rejected_row
        inner join source_file
            on rejected_row.source_file_id = source_file.source_file_id
        left join site_map on source_file.site_map_sha256 = site_map.sha256
        where
            cleared_by is null
            and unloaded_at is null
            and content = 'installations'
            and (
                $source_file_id is null
                or rejected_row.source_file_id = $source_file_id
            )
        order by rejected_row.source_file_id, source_row
        """,
        {"source_file_id": source_file_id},
    ).fetchall()
    signs_of = cache(_signs)
    cells = [
        _held_cells(raw_text)
        if reason_code == "displaced"
        else _cells(raw_text, reason, headers, signs_of(site_map))
        for _, _, reason, raw_text, headers, site_map, reason_code in rows
    ]
    own = list(
        dict.fromkeys(
            name
            for (*_, headers, _, _), found in zip(rows, cells, strict=True)
            for name in (*headers, *found)
            if name not in (*MARK_HEADERS, SURPLUS_HEADER)
        )
    )
    if any(SURPLUS_HEADER in found for found in cells):
        own.append(SURPLUS_HEADER)
    lines = [
        [str(receipt), str(row), reason, ""] + [found.get(name, "") for name in own]
        for (receipt, row, reason, *_), found in zip(rows, cells, strict=True)
    ]
    schema = dict.fromkeys([*MARK_HEADERS, *own], pl.String)
    return pl.DataFrame(lines, schema=schema, orient="row")


class _Written(float):
    """A number of a JSON record, with its digits."""

    digits: str


def _written(digits: str) -> _Written:
    number = _Written(digits)
    number.digits = digits
    return number


class _Signs(NamedTuple):
    """The decimal sign of a site's files, and what stands between their cells."""

    decimal: str
    delimiter: str


def _signs(site_map: str | None) -> _Signs:
    """Return the signs of a stored site map's text."""
    files = tomllib.loads(site_map or "").get("files", {})
    return _Signs(str(files.get("decimal", ".")), str(files.get("delimiter", ",")))


def _cells(
    raw_text: str, reason: str, headers: list[str], signs: _Signs
) -> dict[str, str]:
    """Return a row's cells by header; what is not under a header is surplus."""
    try:
        read = json.loads(raw_text, parse_float=_written)
    except json.JSONDecodeError:
        read = None
    if not isinstance(read, dict):
        return _line_cells(raw_text, reason, headers, signs.delimiter)
    cells = {
        name or SURPLUS_HEADER: _text(value, signs.decimal)
        for name, value in _named(read, headers).items()
        if value is not None
    }
    return {name: cells[name] for name in cells if name not in MARK_HEADERS}


def _line_cells(
    line: str, reason: str, headers: list[str], delimiter: str
) -> dict[str, str]:
    """Return the cells of a line with too many of them; of any other the line."""
    # As such a file is read, whatever its rows' own files have.
    delimiter = "," if RECEIPT_HEADER in headers else delimiter
    parted = part_surplus(line, reason, delimiter)
    if parted is None:
        return {SURPLUS_HEADER: line}
    cells = dict(zip(headers, parted.cells, strict=False))
    return {name: cells[name] for name in cells if name not in MARK_HEADERS} | {
        SURPLUS_HEADER: parted.surplus
    }


def _held_cells(raw_text: str) -> dict[str, str]:
    """Return what is held of a displaced row, its revision left to be written."""
    held = json.loads(raw_text, parse_float=_written)
    return {
        f"{HELD}{name}": "clear" if value == inf else _text(value, ".")
        for name, value in held.items()
        if value is not None and name != "revision"
    }


def _text(value: object, decimal: str) -> str:
    if isinstance(value, _Written):
        return value.digits.replace(".", decimal)
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)


def _named(read: dict[str, object], headers: Collection[str]) -> dict[str, object]:
    """Return a row's values by the names that a site map has for them.

    What lies in an object has its own, "hole.depth": there it is corrected, and not
    in the object, unless the map reads that.
    """
    try:
        named = dict(leaves(read))
    except RepeatedKeyError:
        return read
    whole = {name: read[name] for name in headers if name in read}
    listed = {name for name, value in named.items() if is_list_of_objects(value)}
    return {
        name: value
        for name, value in (whole | named).items()
        if name not in listed or name in headers
    }
