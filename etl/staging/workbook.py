"""Stage a sheet of a workbook, parsed in a process of its own."""

import csv
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import duckdb

from etl.sandbox.run import parse_apart
from etl.sandbox.sheet import MAX_ROW_CHARACTERS, TOO_LONG
from etl.sandbox.workbook import ROWS_NAME, STRUCK_NAME, WIDTH_NAME
from etl.site_map import SiteMap
from etl.staging import limits
from etl.staging.sideways import turn_sheet
from etl.staging.staged_file import StagedFile, joined_headers, trimmed
from queries.errors import FirmsetError

_MOST_NAMED = 5

# A row with an error in one of these cannot be told apart from others.
IDENTITY_NAMES = (
    "record_id",
    "installed_on",
    "installed_at",
    "crew_code",
    "setting_code",
)


def read_first_sheet(path: Path, decimal: str) -> list[list[str]]:
    """Return the cells of a workbook's first sheet: row n of it at place n - 1.

    Rows without a value are empty, the others all as wide as the widest. FirmsetError
    where it cannot be read.
    """
    with TemporaryDirectory() as name:
        folder = Path(name)
        parse_apart("xlsx", path, folder, decimal, instead="send the sheet as CSV")
        rows: list[list[str]] = []
        with (folder / ROWS_NAME).open(encoding="utf-8", newline="") as lines:
            for number, _, *cells in csv.reader(lines):
                rows += [[] for _ in range(len(rows) + 1, int(number))]
                rows.append(cells)
        width = int((folder / WIDTH_NAME).read_text("ascii"))
    return [row and row + [""] * (width - len(row)) for row in rows]


def stage_workbook(
    con: duckdb.DuckDBPyConnection, path: Path, site_map: SiteMap, folder: Path
) -> StagedFile:
    """Stage a sheet's rows under their own numbers, hidden ones too."""
    parse_apart(
        "xlsx",
        path,
        folder,
        site_map.decimal,
        site_map.sheet or "",
        instead="send the sheet as CSV",
    )
    as_it_stood = turn_sheet(path, folder) if site_map.sideways else None
    width = int((folder / WIDTH_NAME).read_text("ascii"))
    cells = dict.fromkeys((f"c{i + 1}" for i in range(width)), "varchar")
    con.execute(
        """
        create or replace temp table sheet_row as
        select * from read_csv(
            $rows, auto_detect = false, header = false, delim = ',', quote = '"',
            escape = '"', new_line = '\\n', null_padding = true, parallel = false,
            columns = $columns, hive_partitioning = false
        )
        """,
        {
            "rows": str(folder / ROWS_NAME),
            "columns": {"file_row": "bigint", "cell_faults": "varchar"} | cells,
        },
    )
    try:
        staged = _stage_sheet(con, path, site_map)
        if as_it_stood is None:
            return replace(staged, struck_words=_struck_words(folder, site_map))
        return replace(staged, title_rows=tuple(map(tuple, as_it_stood)))
    finally:
        con.execute("drop table sheet_row")


def _stage_sheet(
    con: duckdb.DuckDBPyConnection, path: Path, site_map: SiteMap
) -> StagedFile:
    [(last_row,)] = con.execute("select max(file_row) from sheet_row").fetchall()
    if (last_row or 0) < site_map.header_row:
        raise FirmsetError(
            f"{path}: the sheet ends before row {site_map.header_row}, where the site "
            f"map {site_map.path.name} expects the column names"
        )
    above = _rows_above(con, site_map)
    titles, header = (
        above[: site_map.header_rows[0] - 1],
        above[-len(site_map.header_rows) :],
    )
    headers = joined_headers(header)
    staged = StagedFile(
        path,
        headers,
        first_row=site_map.header_row + 1,
        has_own_rows=True,
        header_cells=tuple(tuple(map(trimmed, row)) for row in header),
        title_rows=tuple(map(tuple, titles)),
    )
    columns = [f"c{i + 1}" for i in range(len(headers))]
    blank = ", ".join(f"nullif(trim({column}), '')" for column in columns)
    fault, parameters = _line_fault_sql(staged, site_map)
    con.execute(
        f"""
        create or replace temp table staged_row as
        select
            {", ".join(columns)}, coalesce({blank}) is null as is_blank_row,
            file_row, {fault} as line_fault, null::varchar as line
        from sheet_row
        where file_row > $header_row
        order by file_row
        """,
        {"header_row": site_map.header_row} | parameters,
    )
    return staged


def _struck_words(folder: Path, site_map: SiteMap) -> tuple[str, ...]:
    """Ask about the rows that are struck out: somebody may have withdrawn them."""
    numbers = (folder / STRUCK_NAME).read_text("ascii").split()
    rows = [number for number in numbers if int(number) > site_map.header_row]
    if not rows:
        return ()
    listed = ", ".join(rows[:_MOST_NAMED])
    more = f" and {len(rows) - _MOST_NAMED} more" if len(rows) > _MOST_NAMED else ""
    which = "row is" if len(rows) == 1 else "rows are"
    question = (
        f"{len(rows)} {which} struck out in the workbook and read as any other (row "
        f"{listed}{more}): a question whether they are withdrawn; if so, delete them "
        "there, take the file back with firmset unload, and load it again"
    )
    return (question,)


def _rows_above(con: duckdb.DuckDBPyConnection, site_map: SiteMap) -> list[list[str]]:
    """Return the cells of all rows above the data, blank ones as ''."""
    found = con.execute(
        """
        select file_row, columns('c[0-9]+') from sheet_row
        where file_row <= $last
        """,
        {"last": site_map.header_row},
    )
    width = len(found.description or ()) - 1
    rows = {row: [cell or "" for cell in cells] for row, *cells in found.fetchall()}
    numbers = range(1, site_map.header_row + 1)
    return [rows.get(number, [""] * width) for number in numbers]


def _line_fault_sql(
    staged: StagedFile, site_map: SiteMap
) -> tuple[str, dict[str, object]]:
    """Return why a sheet's row cannot be taken: an error where its identity stands."""
    too_long = (
        f"'a row of more than {MAX_ROW_CHARACTERS} characters; the beginning of its "
        "first cell is kept'"
    )
    branches = [f"when cell_faults = ',{TOO_LONG},' then {too_long}"]
    parameters: dict[str, object] = {}
    for found in site_map.columns:
        if found.column.name not in IDENTITY_NAMES:
            continue
        if found.header not in staged.headers:
            continue
        number = staged.headers.index(found.header) + 1
        name = f"{found.column.name}_header"
        parameters[name] = found.header
        branches.append(
            f"when contains(cell_faults, ',{number},') then ${name} || ': ''' || "
            f"c{number} || ''', expected a value'"
        )
    lengths = ", ".join(f"length(c{i + 1})" for i in range(staged.width))
    branches.append(
        f"when greatest({lengths}) > {limits.MAX_CELL_CHARACTERS} then 'a cell of ' || "
        f"greatest({lengths}) || ' characters, expected at most "
        f"{limits.MAX_CELL_CHARACTERS}'"
    )
    return f"case {' '.join(branches)} end", parameters
