"""Rejected rows that come back corrected.

`firmset rejects --format csv` writes rejected rows with the columns of the files they
came from and four columns in front (queries/readers/corrections.py), by which such a
file is known (etl/corrected_rows.py). Its rows are read by the site maps that the files
they came from were read with, and clear the rejected rows they correct: these are
linked to the file, not deleted.
"""

import csv
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache, partial
from pathlib import Path
from typing import NamedTuple

import duckdb

from etl.corrected_rows import read_corrected_rows
from etl.file_parts import anchor_part
from etl.held_rows import held_part, is_held, map_of_held, require_held_columns
from etl.site_map import MappedColumn, SiteMap, read_site_map
from etl.site_map.beside import ANCHOR, anchor_names, one_anchor
from etl.site_map.names import names_kept
from queries.columns import COLUMN_BY_NAME
from queries.errors import FirmsetError
from queries.readers.corrections import (
    RECEIPT_HEADER,
    REVISION_HEADER,
    SURPLUS_HEADER,
)
from queries.spreadsheet_text import armed_again
from queries.surplus_cells import SURPLUS_PATTERN


def corrected_parts(
    con: duckdb.DuckDBPyConnection, path: Path, folder: Path
) -> Iterator[tuple[Path, str, SiteMap]]:
    """Yield the file's rows as logs of one site map each, with that map.

    And with the part of a row that they are of, " [anchor 2]", else "". Each log is a
    CSV in `folder` with the file's own rows at their own places; rows of other maps
    are left blank there. FirmsetError where a row names no known receipt.
    """
    # By the decimal sign that a workbook's numbers are written with.
    read = cache(partial(read_corrected_rows, path))
    written, *rows = read(".")
    header = [armed_again(name) for name in written]
    map_of = cache(partial(_stored_map, con, folder))
    had_surplus = _rows_with_surplus(con)
    kinds = [
        _kind_of_row(con, map_of, path, number, header, row) if any(row) else None
        for number, row in enumerate(rows, start=2)
    ]
    for kind in dict.fromkeys(found for found in kinds if found):
        stored, place = map_of(kind.map_sha256), kind.place
        if kind.held_of:
            require_held_columns(con, path, header, rows)
            site_map = map_of_held(con, stored, kind.held_of, header)
        else:
            _require_columns(con, path, kind.map_sha256, stored, header)
            site_map = _for_part(one_anchor(stored, place) if place else stored, header)
        _, *rows = read(site_map.decimal)
        part = folder / f"{kind.map_sha256}_{place}_{kind.held_of}.csv"
        with part.open("w", encoding="utf-8", newline="") as target:
            writer = csv.writer(target, lineterminator="\n")
            writer.writerow(header)
            for row, of in zip(rows, kinds, strict=True):
                cells = [armed_again(cell) for cell in row] if of == kind else []
                if cells and (cells[0].strip(), cells[1].strip()) in had_surplus:
                    cells = _with_surplus_last(header, cells)
                writer.writerow(_with_revision(header, cells, site_map))
        named = anchor_part(anchor_names(stored.anchors)[place - 1]) if place else ""
        named = held_part(kind.held_of) if kind.held_of else named
        yield part, named, site_map


def _require_columns(
    con: duckdb.DuckDBPyConnection,
    path: Path,
    sha256: str,
    site_map: SiteMap,
    header: list[str],
) -> None:
    """Raise FirmsetError where a column is gone that the map's files had, and it reads.

    What stood in it would be lost without a word.
    """
    had = con.execute(
        "select distinct unnest(headers) from source_file where site_map_sha256 = ?",
        [sha256],
    ).fetchall()
    lost = [
        f"{name!r} ({found.column.name})"
        for found in site_map.columns
        for name in found.own_headers
        if (name,) in had and name not in header
    ]
    if lost:
        columns = "column" if len(lost) == 1 else "columns"
        raise FirmsetError(
            f"{path}: row 1: lacks the {columns} {', '.join(lost)}: expected all of "
            "them, as firmset rejects wrote them"
        )


def _rows_with_surplus(con: duckdb.DuckDBPyConnection) -> set[tuple[str, str]]:
    """Return the receipt and row of all rejected rows with more cells than columns."""
    found = con.execute(
        """
        select source_file_id::varchar, source_row::varchar from rejected_row
        where
            reason_code = 'unreadable_line' and regexp_matches(reason, $pattern)
        """,
        {"pattern": SURPLUS_PATTERN},
    ).fetchall()
    return set(found)


def _with_surplus_last(header: list[str], row: list[str]) -> list[str]:
    """Return a row with its surplus, if it still has any, beyond the last column.

    There it is rejected as it was: until somebody has put that text where it belongs,
    any cell of the row may stand under a wrong header.
    """
    if SURPLUS_HEADER not in header:
        return row
    place = header.index(SURPLUS_HEADER)
    surplus = row[place : place + 1]
    if not "".join(surplus).strip():
        return row
    padded = [*row, *[""] * (len(header) - len(row))]
    return [*padded[:place], "", *padded[place + 1 :], *surplus]


def _with_revision(header: list[str], row: list[str], site_map: SiteMap) -> list[str]:
    """Return a row with the revision that was written for firmset as its own."""
    given = dict(zip(header, row, strict=False)).get(REVISION_HEADER, "").strip()
    own = [found for found in site_map.columns if found.column.name == "revision"]
    if not given or not own or own[0].header not in header:
        return row
    place = header.index(own[0].header)
    return [*row[:place], given, *row[place + 1 :]]


class _Kind(NamedTuple):
    """How a row is read: by which map, as which of a row's anchors (0: it has one).

    `held_of` is the site of a row that is given back as it is held, else "".
    """

    map_sha256: str
    place: int
    held_of: str


def _kind_of_row(
    con: duckdb.DuckDBPyConnection,
    map_of: Callable[[str], SiteMap],
    path: Path,
    number: int,
    header: list[str],
    row: list[str],
) -> _Kind:
    sha256, site_code = _origin_of_row(con, path, number, row)
    if is_held(header, row):
        return _Kind(sha256, 0, site_code)
    place = _anchor_of_row(map_of(sha256), path, number, header, row)
    return _Kind(sha256, place, "")


def _origin_of_row(
    con: duckdb.DuckDBPyConnection, path: Path, number: int, row: list[str]
) -> tuple[str, str]:
    """Return the SHA-256 of the site map, and the site, of a row's receipt."""
    text = row[0].strip()
    found = con.execute(
        """
        select site_map_sha256, coalesce(site_code, '') from source_file
        where source_file_id = try_cast($text as integer) and content = 'installations'
        """,
        {"text": text},
    ).fetchall()
    if not found:
        raise FirmsetError(
            f"{path}: row {number}: {RECEIPT_HEADER} = {text!r}: expected the number "
            "of a receipt of this store, as firmset rejects wrote it"
        )
    [(sha256, site_code)] = found
    return str(sha256), str(site_code)


def _anchor_of_row(
    site_map: SiteMap, path: Path, number: int, header: list[str], row: list[str]
) -> int:
    """Return which anchor of a row it was that was rejected; 0: rows have but one."""
    if not site_map.anchors:
        return 0
    cells = dict(zip(header, row, strict=False))
    text, names = cells.get(ANCHOR, "").strip(), anchor_names(site_map.anchors)
    if text not in names:
        raise FirmsetError(
            f"{path}: row {number}: {ANCHOR} = {text!r}: expected one of "
            f"{', '.join(names)}, as firmset rejects wrote it"
        )
    return names.index(text) + 1


def _stored_map(con: duckdb.DuckDBPyConnection, folder: Path, sha256: str) -> SiteMap:
    """Return a site map as it is stored, with its text in `folder`."""
    [(name, text)] = con.execute(
        "select file_name, text from site_map where sha256 = ?", [sha256]
    ).fetchall()
    stored = folder / sha256 / name
    stored.parent.mkdir()
    stored.write_text(text, "utf-8")
    return read_site_map(stored)


def _for_part(site_map: SiteMap, header: list[str]) -> SiteMap:
    """Return a site map, for a comma CSV in UTF-8 with one row of headers."""
    columns = [found for found in site_map.columns if {*found.own_headers} <= {*header}]
    if not any(found.column.name == "revision" for found in columns):
        revision = COLUMN_BY_NAME["revision"]
        columns.append(MappedColumn(revision, REVISION_HEADER, None, 1.0, False))
    return replace(
        site_map,
        columns=tuple(replace(found, fill_down=False) for found in columns),
        sites=site_map.sites and replace(site_map.sites, fill_down=False),
        encoding="utf-8",
        delimiter=",",
        header_rows=(1,),
        sideways=False,
        listed=None,
        sheet=None,
        titles=(),
        as_above=(),
        told=(),
        anchor_count=None,
        beside=None,
        said_once=_said_once(site_map),
    )


def _said_once(site_map: SiteMap) -> tuple[str, ...]:
    """Return the columns that the log itself said once: here each row has them."""
    patterns = (site_map.match, *site_map.sheets)
    kept = [name for pattern in patterns for name in names_kept(pattern)]
    return (*kept, *site_map.titles, *dict(site_map.told))
