"""Stage a file's cells, as text and in file order, in the temporary table staged_row.

Everything a site sent is there before anything is interpreted: a cell is cast only
from this table, so that no reader can drop or abort on a row because of its contents.
The table's rowid is the order in the file: rows are inserted in that order.
"""

import csv
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

import duckdb

from etl.site_map import SiteMap
from queries.errors import FirmsetError

# DuckDB reads these itself; windows-1252 is decoded here first.
DUCKDB_ENCODINGS = {"utf-8": "utf-8", "utf-16": "utf-16", "latin-1": "latin-1"}
PYTHON_ENCODINGS = {
    "utf-8": "utf-8-sig",
    "utf-16": "utf-16",
    "latin-1": "latin-1",
    "windows-1252": "cp1252",
}
WORKBOOK_MEMORY_BYTES = 4 * 1024**3
WORKBOOK_TIMEOUT_S = 120


@dataclass(frozen=True)
class StagedFile:
    """What staged_row holds: column c1 is the first header, and so on.

    `first_row` is the number, in the file, of the row with rowid 0, counted from 1.
    """

    path: Path
    headers: tuple[str, ...]
    first_row: int
    is_json: bool = False
    has_extra_column: bool = False

    def cell_sql(self, header: str) -> str:
        """Return the SQL column of a header."""
        return f"c{self.headers.index(header) + 1}"

    @property
    def unreadable_line_sql(self) -> str:
        """Return the condition that a row is not one of the file's shape."""
        if self.is_json:
            return "not coalesce(json_valid(line), false)"
        return "extra is not null" if self.has_extra_column else "false"

    @property
    def raw_text_sql(self) -> str:
        """Return the row as it stood: a JSON object of the cells by header."""
        if self.is_json:
            return "line"
        cells = [
            f"struct_pack(h := $h{i}, c := c{i + 1})" for i in range(len(self.headers))
        ]
        extra = ", struct_pack(h := '', c := extra)" if self.has_extra_column else ""
        return (
            "to_json(map_from_entries(list_filter("
            f"[{', '.join(cells)}{extra}], lambda x: x.c is not null)))::varchar"
        )

    @property
    def raw_text_parameters(self) -> dict[str, object]:
        """Return the parameters of raw_text_sql."""
        if self.is_json:
            return {}
        return {f"h{i}": header for i, header in enumerate(self.headers)}


def stage_file(
    con: duckdb.DuckDBPyConnection, path: Path, site_map: SiteMap
) -> StagedFile:
    """Fill staged_row with a file's rows; FirmsetError where it cannot be read."""
    match path.suffix.lower():
        case ".csv" | ".txt" | ".tsv":
            staged = _stage_csv(con, path, site_map)
        case ".jsonl" | ".ndjson":
            staged = _stage_json_lines(con, path, site_map)
        case ".xlsx":
            staged = _stage_workbook(con, path, site_map)
        case suffix:
            raise FirmsetError(
                f"{path}: cannot read files ending in {suffix or 'nothing'}; "
                "expected .csv, .txt, .tsv, .jsonl or .xlsx"
            )
    missing = [
        f"{found.column.name} from {found.header!r}"
        for found in site_map.columns
        if found.header not in staged.headers
    ]
    if missing:
        raise FirmsetError(
            f"{path}: row {site_map.header_row}: the site map {site_map.path.name} "
            f"takes {'; '.join(missing)}, but the file has the columns "
            f"{', '.join(staged.headers)}"
        )
    return staged


def unique_headers(cells: list[str]) -> tuple[str, ...]:
    """Return headers as a site map names them: trimmed, a repeat as "name (2)"."""
    seen: dict[str, int] = {}
    headers = []
    for position, cell in enumerate(cells, start=1):
        name = " ".join(cell.split()) or f"column {position}"
        seen[name] = seen.get(name, 0) + 1
        headers.append(name if seen[name] == 1 else f"{name} ({seen[name]})")
    return tuple(headers)


def _stage_csv(
    con: duckdb.DuckDBPyConnection, path: Path, site_map: SiteMap
) -> StagedFile:
    headers = _csv_headers(path, site_map)
    staged = StagedFile(
        path, headers, first_row=site_map.header_row + 1, has_extra_column=True
    )
    if site_map.encoding in DUCKDB_ENCODINGS:
        _read_csv(con, path, staged, site_map, DUCKDB_ENCODINGS[site_map.encoding])
        return staged
    with tempfile.TemporaryDirectory() as folder:
        decoded = Path(folder) / "decoded.csv"
        _decode(path, decoded, site_map)
        _read_csv(con, decoded, staged, site_map, "utf-8")
    return staged


def _csv_headers(path: Path, site_map: SiteMap) -> tuple[str, ...]:
    encoding = PYTHON_ENCODINGS[site_map.encoding]
    try:
        with path.open(encoding=encoding, newline="") as lines:
            rows = csv.reader(lines, delimiter=site_map.delimiter)
            for number, row in enumerate(rows, start=1):
                if number == site_map.header_row:
                    return unique_headers(row)
    except (UnicodeError, csv.Error) as error:
        raise FirmsetError(
            f"{path}: the header cannot be read as {site_map.encoding}: {error}"
        ) from error
    raise FirmsetError(
        f"{path}: the file ends before row {site_map.header_row}, where the site map "
        f"{site_map.path.name} expects the column names"
    )


def _read_csv(
    con: duckdb.DuckDBPyConnection,
    path: Path,
    staged: StagedFile,
    site_map: SiteMap,
    encoding: str,
) -> None:
    """Read all cells as text. A row with more cells than headers shows in `extra`.

    The parallel reader cannot pad short rows in a file with line breaks inside
    quotes; such a file is read again by one thread.
    """
    cells = [*(f"c{i + 1}" for i in range(len(staged.headers))), "extra"]
    arguments = """
        auto_detect = false, header = false, null_padding = true, strict_mode = false,
        delim = $delimiter, quote = '"', escape = '"', skip = $skip,
        encoding = $encoding, columns = $columns, parallel = {parallel}
    """
    parameters = {
        "path": str(path),
        "delimiter": site_map.delimiter,
        "skip": site_map.header_row,
        "encoding": encoding,
        "columns": dict.fromkeys(cells, "varchar"),
    }
    for parallel in ("true", "false"):
        statement = (
            "create or replace temp table staged_row as "
            f"select *, coalesce({', '.join(cells)}) is null as is_blank_row "
            f"from read_csv($path, {arguments.format(parallel=parallel)})"
        )
        try:
            con.execute(statement, parameters)
        except duckdb.Error as error:
            if parallel == "false" or "parallel" not in str(error):
                reason = str(error).splitlines()[0]
                raise FirmsetError(
                    f"{path}: cannot be read as {site_map.encoding} with delimiter "
                    f"{site_map.delimiter!r}: {reason}"
                ) from error
        else:
            return


def _decode(path: Path, decoded: Path, site_map: SiteMap) -> None:
    encoding = PYTHON_ENCODINGS[site_map.encoding]
    try:
        with (
            path.open(encoding=encoding, newline="") as source,
            decoded.open("w", encoding="utf-8", newline="") as target,
        ):
            while chunk := source.read(1 << 20):
                target.write(chunk)
    except UnicodeError as error:
        raise FirmsetError(
            f"{path}: is not {site_map.encoding} as its site map says: {error}"
        ) from error


def _stage_json_lines(
    con: duckdb.DuckDBPyConnection, path: Path, site_map: SiteMap
) -> StagedFile:
    """Stage lines as text and take the mapped keys; a bad line keeps its text."""
    headers = tuple(dict.fromkeys(found.header for found in site_map.columns))
    keys = ", ".join(
        f"if(json_valid(line), json_extract_string(line, $k{i}), null) as c{i + 1}"
        for i in range(len(headers))
    )
    try:
        con.execute(
            f"""
            create or replace temp table staged_row as
            select line, {keys}, coalesce(trim(line), '') = '' as is_blank_row
            from read_csv(
                $path, auto_detect = false, header = false, delim = '\x02',
                quote = '', escape = '', columns = {{'line': 'varchar'}},
                null_padding = true, strict_mode = false, max_line_size = 10000000
            )
            """,
            {"path": str(path)}
            | {f"k{i}": _json_path(header) for i, header in enumerate(headers)},
        )
    except duckdb.Error as error:
        reason = str(error).splitlines()[0]
        raise FirmsetError(
            f"{path}: cannot be read as lines of UTF-8: {reason}"
        ) from error
    return StagedFile(path, headers, first_row=1, is_json=True)


def _json_path(key: str) -> str:
    return "$." + '"' + key.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _stage_workbook(
    con: duckdb.DuckDBPyConnection, path: Path, site_map: SiteMap
) -> StagedFile:
    """Stage a sheet, parsed in a process of its own with a limit on its memory.

    A workbook of five kilobytes can make the parser abort; that must not end a load
    without a word.
    """
    with tempfile.TemporaryDirectory() as folder:
        parsed = Path(folder) / "sheet.parquet"
        command = [
            sys.executable,
            str(Path(__file__).with_name("workbook.py")),
            str(path),
            str(parsed),
            site_map.sheet or "",
            str(WORKBOOK_MEMORY_BYTES),
        ]
        try:
            done = subprocess.run(
                command,
                capture_output=True,
                text=True,
                timeout=WORKBOOK_TIMEOUT_S,
                check=False,
            )
        except subprocess.TimeoutExpired as error:
            raise FirmsetError(
                f"{path}: the workbook was not read in {WORKBOOK_TIMEOUT_S} s; "
                "send the sheet as CSV"
            ) from error
        if done.returncode == 2:
            raise FirmsetError(f"{path}: {done.stderr.strip()}")
        if done.returncode != 0:
            raise FirmsetError(
                f"{path}: the workbook cannot be read within the limits "
                f"(exit {done.returncode}); send the sheet as CSV"
            )
        return _stage_sheet(con, path, parsed, site_map)


def _stage_sheet(
    con: duckdb.DuckDBPyConnection, path: Path, parsed: Path, site_map: SiteMap
) -> StagedFile:
    rows = con.execute(
        "select * from read_parquet($sheet) limit 1 offset $above",
        {"sheet": str(parsed), "above": site_map.header_row - 1},
    ).fetchall()
    if not rows:
        raise FirmsetError(
            f"{path}: the sheet ends before row {site_map.header_row}, where the site "
            f"map {site_map.path.name} expects the column names"
        )
    headers = unique_headers([cell or "" for cell in rows[0]])
    cells = ", ".join(f"nullif(trim(c{i + 1}), '')" for i in range(len(headers)))
    con.execute(
        f"""
        create or replace temp table staged_row as
        select *, coalesce({cells}) is null as is_blank_row
        from read_parquet($sheet) offset $header_row
        """,
        {"sheet": str(parsed), "header_row": site_map.header_row},
    )
    return StagedFile(path, headers, first_row=site_map.header_row + 1)
