"""Rejected rows that come back corrected.

`firmset rejects --format csv` writes rejected rows with the columns of the files they
came from and four columns in front (queries/readers/corrections.py). Such a file is
known by these, whatever its name, and however the spreadsheet saved it: with commas,
semicolons or tabs, in UTF-8, UTF-16 or Windows-1252. Its rows are read by the site maps
that the files they came from were read with, and clear the rejected rows they correct:
these are linked to the file, not deleted.
"""

import codecs
import csv
import io
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import duckdb

from etl.site_map import MappedColumn, SiteMap, read_site_map
from etl.staging import StagedFile
from queries.columns import COLUMN_BY_NAME
from queries.errors import FirmsetError
from queries.readers.corrections import (
    MARK_HEADERS,
    RECEIPT_HEADER,
    REVISION_HEADER,
    ROW_HEADER,
    armed_again,
)

DELIMITERS = (",", ";", "\t")
# An even number of bytes, for UTF-16.
LONGEST_HEADER = 65_536


def is_corrections(path: Path) -> bool:
    """Say whether a file is rejected rows that were written for correction."""
    with path.open("rb") as content:
        start = content.read(LONGEST_HEADER)
    return _delimiter(start.decode(_wide(start) or "latin-1", "replace")) is not None


def _wide(start: bytes) -> str | None:
    """Return the encoding that a file's first bytes tell of; None: no wide one."""
    if start.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "utf-16"
    return None


def _delimiter(text: str) -> str | None:
    """Return what stands between the marks in the first line; None: they do not."""
    first = text.removeprefix("\ufeff").removeprefix("\xef\xbb\xbf").partition("\n")[0]
    for delimiter in DELIMITERS:
        with suppress(csv.Error):
            header = next(csv.reader([first.rstrip("\r")], delimiter=delimiter), [])
            if header[: len(MARK_HEADERS)] == list(MARK_HEADERS):
                return delimiter
    return None


def _read_rows(path: Path) -> list[list[str]]:
    """Return the file's lines as cells, the headers first."""
    content = path.read_bytes()
    wide = _wide(content)
    for encoding in [wide] if wide else ["utf-8-sig", "windows-1252"]:
        with suppress(UnicodeDecodeError):
            text = content.decode(encoding)
            delimiter = _delimiter(text) or ","
            return list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter))
    raise FirmsetError(
        f"{path}: neither UTF-8, UTF-16 nor Windows-1252: expected one of these, as a "
        "spreadsheet saves a CSV"
    )


def corrected_parts(
    con: duckdb.DuckDBPyConnection, path: Path, folder: Path
) -> Iterator[tuple[Path, SiteMap]]:
    """Yield the file's rows as logs of one site map each, with that map.

    Each log is a CSV in `folder` with the file's own rows at their own places; rows of
    other maps are left blank there. FirmsetError where a row names no known receipt.
    """
    header, *rows = _read_rows(path)
    cells = [[armed_again(cell) for cell in row] for row in rows]
    maps = [
        _map_of_row(con, path, number, row) if any(row) else None
        for number, row in enumerate(cells, start=2)
    ]
    for sha256 in dict.fromkeys(found for found in maps if found):
        part = folder / f"{sha256}.csv"
        kept = [
            row if of == sha256 else [] for row, of in zip(cells, maps, strict=True)
        ]
        with part.open("w", encoding="utf-8", newline="") as target:
            writer = csv.writer(target, lineterminator="\n")
            writer.writerow(header)
            writer.writerows(kept)
        yield part, _map_for_part(con, sha256, header, folder)


def _map_of_row(
    con: duckdb.DuckDBPyConnection, path: Path, number: int, row: list[str]
) -> str:
    """Return the SHA-256 of the site map that a row's receipt was read with."""
    text = row[0].strip()
    found = con.execute(
        """
        select site_map_sha256 from source_file
        where source_file_id = try_cast($text as integer) and content = 'installations'
        """,
        {"text": text},
    ).fetchall()
    if not found:
        raise FirmsetError(
            f"{path}: row {number}: {RECEIPT_HEADER} = {text!r}: expected the number "
            "of a receipt of this store, as firmset rejects wrote it"
        )
    return str(found[0][0])


def _map_for_part(
    con: duckdb.DuckDBPyConnection, sha256: str, header: list[str], folder: Path
) -> SiteMap:
    """Return the stored site map, for a comma CSV in UTF-8 with one row of headers."""
    [(name, text)] = con.execute(
        "select file_name, text from site_map where sha256 = ?", [sha256]
    ).fetchall()
    with TemporaryDirectory(dir=folder) as inner:
        stored = Path(inner) / name
        stored.write_text(text, "utf-8")
        site_map = read_site_map(stored)
    kept = folder / name
    kept.write_text(text, "utf-8")
    columns = [found for found in site_map.columns if found.header in header]
    if not any(found.column.name == "revision" for found in columns):
        revision = COLUMN_BY_NAME["revision"]
        columns.append(MappedColumn(revision, REVISION_HEADER, None, 1.0, False))
    return replace(
        site_map,
        path=kept,
        columns=tuple(replace(found, fill_down=False) for found in columns),
        encoding="utf-8",
        delimiter=",",
        header_rows=(1,),
        sheet=None,
    )


def clear_rejected(
    con: duckdb.DuckDBPyConnection,
    staged: StagedFile,
    site_code: str,
    source_file_id: int,
) -> None:
    """Link rejected rows to the file that brought their records after all.

    A conflict is settled only by a revision above the one in conflict.
    """
    is_any_open = con.execute(
        "select count(*) from rejected_row where cleared_by is null "
        "and source_file_id != ?",
        [source_file_id],
    ).fetchall() != [(0,)]
    if not is_any_open:
        return
    con.execute(
        """
        update rejected_row set cleared_by = $source_file_id
        from (
            select record_id, max(revision) as revision
            from (
                select record_id, revision from installation
                where source_file_id = $source_file_id
                union all
                select record_id, revision from superseded_installation
                where source_file_id = $source_file_id
            )
            group by record_id
        ) as brought
        where
            rejected_row.record_id = brought.record_id
            and cleared_by is null
            and source_file_id != $source_file_id
            and source_file_id in (
                select source_file_id from source_file where site_code = $site_code
            )
            and brought.revision > coalesce(
                (
                    select revision from conflicting_installation as lost
                    where
                        lost.source_file_id = rejected_row.source_file_id
                        and lost.source_row = rejected_row.source_row
                ),
                -1
            )
        """,
        {"source_file_id": source_file_id, "site_code": site_code},
    )
    if RECEIPT_HEADER not in staged.headers:
        return
    con.execute(
        f"""
        update rejected_row set cleared_by = $source_file_id
        from staged_row
        where
            rejected_row.cleared_by is null
            and rejected_row.reason_code not in ('conflict', 'displaced')
            and rejected_row.source_file_id
            = try_cast({staged.cell_sql(RECEIPT_HEADER)} as integer)
            and rejected_row.source_row
            = try_cast({staged.cell_sql(ROW_HEADER)} as bigint)
            and {staged.row_sql}
            not in (select source_row from rejected)
        """,
        {"source_file_id": source_file_id},
    )
