"""Load one file of given bytes into a ledger in memory, and see what became of it.

The production loader, without the store around it: a store costs more than the file.
"""

from dataclasses import dataclass
from itertools import count
from pathlib import Path

import duckdb

from etl.ledger import LEDGER_CONFIG
from etl.load import load_log
from etl.readings import prepare_readings
from etl.receipt import Receipt
from etl.sheets.load import load_sheet
from etl.sheets.setting_data import SHEET
from etl.site_map import read_site_map
from queries.build import create_schema
from queries.errors import FirmsetError
from tests.builders import NOW, write_setting_data

HEADER = "Nr,Day,Crew,Code,Depth,Note"

MAP = """
[site]
code = "S{site}"
name = "Invented site"
time_zone = "Europe/Lisbon"
[files]
match = "*"
{files}
[columns]
record_id = "Nr"
installed_on = "Day"
crew_code = "Crew"
setting_code = {{from = "Code", fill_down = {fill_down}}}
hole_depth_mm = "Depth"
note = "Note"
"""

_sites = count(1)


@dataclass(frozen=True)
class Taken:
    """What became of a file: a receipt or the line that says why not.

    held: (row, record, note); rejects: (row, code, reason, raw text); faults: (row,
    column, raw value); each in order of the rows.
    """

    receipt: Receipt | None
    failure: str
    held: list[tuple[int, str, str | None]]
    rejects: list[tuple[int, str, str, str]]
    faults: list[tuple[int, str, str]]

    @property
    def rows_read(self) -> int:
        assert self.receipt, self.failure
        return self.receipt.rows_read


def line(number: object, note: str = "", depth: object = 92) -> str:
    """Return a line under HEADER that can be taken."""
    return f"{number},2026-05-04,K1,M12-68,{depth},{note}"


def open_memory(folder: Path) -> duckdb.DuckDBPyConnection:
    """Return a ledger in memory that holds the tests' one setting."""
    con = duckdb.connect(config=LEDGER_CONFIG)
    con.execute("set TimeZone = 'UTC'")
    create_schema(con)
    prepare_readings(con)
    load_sheet(con, write_setting_data(folder), SHEET, NOW)
    return con


def take(
    con: duckdb.DuckDBPyConnection,
    path: Path,
    content: bytes | str | None = None,
    *,
    files: str = "",
    fill_down: bool = False,
) -> Taken:
    """Write `content` to `path` (None: it is there); load it as a site of its own."""
    if content is not None:
        path.write_bytes(
            content.encode("utf-8") if isinstance(content, str) else content
        )
    map_path = path.parent / "site.toml"
    text = MAP.format(
        site=next(_sites), files=files, fill_down="true" if fill_down else "false"
    )
    map_path.write_text(text, "utf-8")
    try:
        [receipt] = load_log(con, path, read_site_map(map_path), NOW)
    except FirmsetError as error:
        return Taken(None, str(error), [], [], [])
    return _taken(con, receipt)


def _taken(con: duckdb.DuckDBPyConnection, receipt: Receipt) -> Taken:
    def rows(columns: str, table: str) -> list[tuple[object, ...]]:
        return con.execute(
            f"select {columns} from {table} where source_file_id = ? order by all",
            [receipt.source_file_id],
        ).fetchall()

    return Taken(
        receipt,
        "",
        rows("source_row, record_id, note", "installation"),  # type: ignore[arg-type]
        rows("source_row, reason_code, reason, raw_text", "rejected_row"),  # type: ignore[arg-type]
        rows("source_row, column_name, raw_value", "field_fault"),  # type: ignore[arg-type]
    )
