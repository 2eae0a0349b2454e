"""Stage separated text: fast where the file is ordinary, with care where it is not."""

import math
import os
import re
from contextlib import closing
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path

import duckdb
import numpy as np

from etl.site_map import SiteMap
from etl.staging import limits
from etl.staging.batches import Row, stage_rows
from etl.staging.records import Record, records_of
from etl.staging.sideways import turn_text
from etl.staging.staged_file import StagedFile, joined_headers, trimmed
from etl.staging.text import decoded_chunks, encoding_of, lines_of, write_as_utf8
from queries.errors import FirmsetError
from queries.surplus_cells import words_of_surplus

# What is in a processor's cache is looked through faster.
SCAN_BYTES = 1 << 20
TAIL_BYTES = 1 << 16

ROW_GROUP_ROWS = 122_880  # DuckDB's.
# More than a line may have; and, of all cores, well below the ledger's memory limit.
LEAST_BUFFER_BYTES = 8_000_000
BUFFERS_BYTES = 256_000_000


def stage_delimited(
    con: duckdb.DuckDBPyConnection,
    path: Path,
    source: Path,
    site_map: SiteMap,
    folder: Path,
) -> StagedFile:
    """Stage what `source` holds, the contents of `path`; `folder` is for copies."""
    if site_map.delimiter in '"\r\n':
        raise FirmsetError(
            f"{path}: the delimiter {site_map.delimiter!r} of {site_map.path.name} "
            "cannot separate cells"
        )
    encoding = encoding_of(source, site_map)
    if encoding not in ("utf-8", "utf-8-sig"):
        decoded = folder / "decoded.txt"
        write_as_utf8(path, source, decoded, encoding)
        source = decoded
    try:
        titles = None
        if site_map.sideways:
            titles = turn_text(path, source, folder / "turned.csv", site_map)
            source = folder / "turned.csv"
        head = _read_head(path, source, site_map)
        head = head if titles is None else replace(head, titles=titles)
        staged = _stage_fast(con, path, source, site_map, head)
        return staged or _stage_with_care(con, path, source, site_map, head)
    except UnicodeDecodeError:
        for _ in decoded_chunks(path, source, "utf-8"):
            pass
        raise


def plain_glob(path: Path) -> str:
    """Return a path as DuckDB's readers take it: with no character that is a pattern.

    So that `log[1].csv` is the file of that name.
    """
    return re.sub(r"[*?\[]", lambda found: f"[{found[0]}]", str(path))


@dataclass(frozen=True)
class _Head:
    """The header's rows, and the number of rows and of lines down to their end.

    `titles` are the rows above; of a log on its side all, as they stood.
    """

    titles: list[list[str]]
    cells: list[list[str]]
    headers: tuple[str, ...]
    last_row: int
    line_count: int

    @property
    def trimmed_cells(self) -> tuple[tuple[str, ...], ...]:
        width = len(self.headers)
        return tuple(
            tuple(map(trimmed, [*row, *[""] * (width - len(row))]))
            for row in self.cells
        )

    @property
    def title_rows(self) -> tuple[tuple[str, ...], ...]:
        return tuple(map(tuple, self.titles))


def _read_head(path: Path, source: Path, site_map: SiteMap) -> _Head:
    with closing(lines_of(source)) as lines:
        above = list(islice(records_of(lines, site_map.delimiter), site_map.header_row))
    if len(above) < site_map.header_row:
        raise FirmsetError(
            f"{path}: the file ends before row {site_map.header_row}, where the site "
            f"map {site_map.path.name} expects the column names"
        )
    records = above[-len(site_map.header_rows) :]
    for record in records:
        if record.fault:
            raise FirmsetError(
                f"{path}: row {record.row}, the header, cannot be read: {record.fault}"
            )
    cells = [record.cells for record in records]
    headers = joined_headers(cells)
    if len(headers) > limits.MAX_COLUMNS:
        raise FirmsetError(
            f"{path}: row {site_map.header_row} has {len(headers)} columns, expected "
            f"at most {limits.MAX_COLUMNS}"
        )
    titles = [record.cells for record in above[: -len(records)]]
    return _Head(
        titles,
        cells,
        headers,
        site_map.header_row,
        sum(found.line_count for found in above),
    )


def _stage_fast(
    con: duckdb.DuckDBPyConnection,
    path: Path,
    source: Path,
    site_map: SiteMap,
    head: _Head,
) -> StagedFile | None:
    """Stage by DuckDB's reader; None where it would not take every row as it stands.

    Its strict mode refuses all that is not plain: surplus cells, stray quotes, line
    breaks in cells. What it leaves out without a word (blank lines) shows in the count.
    """
    row_count = _ordinary_row_count(source)
    if row_count is None or head.line_count != head.last_row:
        return None
    if row_count > limits.MAX_ROWS:
        raise FirmsetError(f"{path}: has more than {limits.MAX_ROWS} rows")
    cells = [f"c{i + 1}" for i in range(len(head.headers))]
    filled = ", ".join(f"nullif(trim({cell}), '')" for cell in cells)
    # Nearly every row begins with a sign after the blank: no cell of it is trimmed.
    statement = f"""
        create or replace temp table staged_row as
        select
            *,
            case when c1 >= '!' then false else coalesce({filled}) is null end
                as is_blank_row
        from read_csv(
            $path, auto_detect = false, header = false, null_padding = true,
            strict_mode = true, delim = $delimiter, quote = '"', escape = '"',
            skip = $skip, encoding = 'utf-8', columns = $columns,
            buffer_size = $buffer_bytes, hive_partitioning = false
        )
    """
    parameters = {
        "path": plain_glob(source),
        "delimiter": site_map.delimiter,
        "skip": head.line_count,
        "columns": dict.fromkeys(cells, "varchar"),
        "buffer_bytes": _buffer_bytes(source, row_count),
    }
    try:
        con.execute(statement, parameters)
    except duckdb.Error:
        return None
    [(staged_count,)] = con.execute("select count(*) from staged_row").fetchall()
    if staged_count != max(row_count - head.last_row, 0):
        return None
    return StagedFile(
        path,
        head.headers,
        first_row=head.last_row + 1,
        header_cells=head.trimmed_cells,
        title_rows=head.title_rows,
    )


def _buffer_bytes(source: Path, row_count: int) -> int:
    """Return how much of a file DuckDB's reader should take at a time.

    Its table keeps the file's order by writing what is less than a row group twice.
    By default it takes 8 MB, which of our logs is less. With half a row group more
    than one, staging ten million rows of 44 columns takes 54 % of the time, one
    million some 65 %. Each core holds one.
    """
    row_bytes = source.stat().st_size / row_count
    wanted = math.ceil(1.5 * ROW_GROUP_ROWS * row_bytes)
    most = max(BUFFERS_BYTES // (os.cpu_count() or 1), LEAST_BUFFER_BYTES)
    return min(max(wanted, LEAST_BUFFER_BYTES), most)


def _ordinary_row_count(source: Path) -> int | None:
    """Return how many rows a file has if a line is a row; None where that is not so.

    Not so: NUL bytes, lone CRs, mixed line breaks, an odd number of quotes, a line
    longer than a cell may be. Blank lines at the end are no rows.
    """
    breaks = returns = pairs = quotes = unbroken = 0
    before = b""
    with source.open("rb") as file:
        while chunk := file.read(SCAN_BYTES):
            still_unbroken = _unbroken_at_end(chunk, unbroken)
            if b"\x00" in chunk or still_unbroken is None:
                return None
            unbroken = still_unbroken
            signs = np.frombuffer(chunk, dtype=np.uint8)
            breaks += int(np.count_nonzero(signs == ord("\n")))
            if b"\r" in chunk:
                returns += int(np.count_nonzero(signs == ord("\r")))
            pairs += chunk.count(b"\r\n") if returns else 0
            pairs += before + chunk[:1] == b"\r\n"
            quotes += chunk.count(b'"') if b'"' in chunk else 0
            before = chunk[-1:]
        file.seek(max(file.tell() - TAIL_BYTES, 0))
        tail = file.read()
    if quotes % 2 or pairs != returns or returns not in (0, breaks):
        return None
    end = tail.rstrip(b"\r\n")
    return breaks - tail.count(b"\n", len(end)) + 1 if end else None


def _unbroken_at_end(chunk: bytes, unbroken: int) -> int | None:
    """Return how many bytes follow the last line break, `unbroken` before the chunk.

    None where a line is longer than a cell may be. Looks at one break in each stretch
    of that length, which is much less than finding every line.
    """
    start, longest = -unbroken, limits.MAX_CELL_CHARACTERS
    while start + longest <= len(chunk):
        found = chunk.rfind(b"\n", max(start, 0), start + longest)
        if found < 0:
            return None
        start = found + 1
    last = chunk.rfind(b"\n", max(start, 0))
    return len(chunk) - (last + 1 if last >= 0 else start)


def _stage_with_care(
    con: duckdb.DuckDBPyConnection,
    path: Path,
    source: Path,
    site_map: SiteMap,
    head: _Head,
) -> StagedFile:
    width = len(head.headers)
    with closing(lines_of(source)) as lines:
        records = records_of(lines, site_map.delimiter)
        data = islice(records, site_map.header_row, None)
        rows = (_row(record, width, site_map.delimiter) for record in data)
        stage_rows(con, rows, width, str(path))
    return StagedFile(
        path,
        head.headers,
        first_row=head.last_row + 1,
        has_own_rows=True,
        header_cells=head.trimmed_cells,
        title_rows=head.title_rows,
    )


def _row(record: Record, width: int, delimiter: str) -> Row:
    """Pad a short row; keep the text of one that is not of the file's shape."""
    row, cells, text, fault, _ = record
    surplus = len(cells) - width
    if surplus == 0:
        return row, None, None, cells
    if surplus > 0 and any(cells[width:]):
        fault = words_of_surplus(len(cells), width, delimiter)
    padded = [*cells[:width], *[""] * -surplus]
    return row, fault, text if fault else None, padded
