"""Load setting data: the published parameters that installations are judged by.

A sheet with any fault is refused whole, with all of its faults: a wrong limit would
misjudge every anchor set by it.
"""

import csv
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import duckdb
import polars as pl

from etl.load import (
    Receipt,
    insert_receipt,
    next_source_file_id,
    receipt_of_same_file,
    sha256_of,
)
from etl.rejudge import rejudge_uses
from queries.errors import FirmsetError
from queries.judgement import MASKS, verdict_masks_sql
from queries.tally import add_to_tally_sql

FILE_NAME = "setting_data.csv"

Value = str | float | int | bool | list[str] | None


def _text(cell: str) -> Value:
    return cell


def _code(cell: str) -> Value:
    return cell.upper()


def _positive(cell: str) -> Value:
    value = float(cell)
    if not 0 < value < float("inf"):
        raise ValueError
    return value


def _count(cell: str) -> Value:
    value = int(cell)
    if value < 0:
        raise ValueError
    return value


def _yes_no(cell: str) -> Value:
    return {"true": True, "false": False}[cell.lower()]


def _codes(cell: str) -> Value:
    return [code.strip().upper() for code in cell.split(";") if code.strip()]


# column -> (how a cell is read, what is expected of it, whether it may be blank)
_Reader = tuple[Callable[[str], Value], str, bool]
_NUMBER: _Reader = (_positive, "a number above 0", False)
_NUMBER_OR_BLANK: _Reader = (_positive, "a number above 0, or blank", True)
COLUMNS: dict[str, _Reader] = {
    "setting_code": (_code, "a code", False),
    "anchor_type_code": (_code, "a code", False),
    "material": (_text, "a text or blank", True),
    "anchor_size": (_text, "a size such as M12 or 1/2", False),
    "drill_diameter_mm": _NUMBER,
    "bit_min_mm": _NUMBER_OR_BLANK,
    "bit_max_mm": _NUMBER_OR_BLANK,
    "embedment_mm": _NUMBER,
    "nominal_embedment_mm": _NUMBER,
    "hole_depth_mm": _NUMBER,
    "anchor_length_mm": _NUMBER,
    "length_mark": (_code, "a mark or blank", True),
    "max_fixture_mm": _NUMBER,
    "setting_torque_nm": _NUMBER,
    "torque_low_nm": _NUMBER_OR_BLANK,
    "torque_high_nm": _NUMBER_OR_BLANK,
    "min_edge_mm": _NUMBER,
    "at_spacing_mm": _NUMBER_OR_BLANK,
    "min_spacing_mm": _NUMBER,
    "at_edge_mm": _NUMBER_OR_BLANK,
    "edge_spacing_interpolates": (_yes_no, "true or false", False),
    "min_member_mm": _NUMBER_OR_BLANK,
    "min_concrete_mpa": _NUMBER_OR_BLANK,
    "max_tilt_deg": _NUMBER_OR_BLANK,
    "brushes_required": (_count, "a whole number, 0 or more", False),
    "blows_required": (_count, "a whole number, 0 or more", False),
    "extraction_replaces_cleaning": (_yes_no, "true or false", False),
    "base_materials": (_codes, "codes with ; between them, or blank", True),
    "document": (_text, "the document they come from", False),
}

# (smaller, larger): the first must not exceed the second where both are given.
ORDERED = (
    ("embedment_mm", "nominal_embedment_mm"),
    ("nominal_embedment_mm", "hole_depth_mm"),
    ("nominal_embedment_mm", "anchor_length_mm"),
    ("bit_min_mm", "bit_max_mm"),
    ("torque_low_nm", "setting_torque_nm"),
    ("setting_torque_nm", "torque_high_nm"),
    ("min_edge_mm", "at_edge_mm"),
    ("min_spacing_mm", "at_spacing_mm"),
)


def read_setting_sheet(path: Path) -> list[dict[str, Value]]:
    """Read and validate a sheet; FirmsetError lists every fault with row and column."""
    try:
        read = _read_rows(path)
    except (UnicodeDecodeError, csv.Error) as error:
        raise FirmsetError(f"{path}: is not a comma CSV in UTF-8: {error}") from error
    faults = [fault for _, row_faults in read for fault in row_faults]
    sheet = [row for row, _ in read]
    faults += _repeated_codes(sheet)
    if faults:
        raise FirmsetError(f"{path}: {'; '.join(faults)}")
    return sheet


def _read_rows(path: Path) -> list[tuple[dict[str, Value], list[str]]]:
    """Return every row with its faults."""
    with path.open(encoding="utf-8-sig", newline="") as lines:
        rows = csv.DictReader(lines)
        headers = tuple(rows.fieldnames or ())
        missing = [name for name in COLUMNS if name not in headers]
        unknown = [name for name in headers if name not in COLUMNS]
        if missing or unknown:
            raise FirmsetError(
                f"{path}: row 1: missing columns: {', '.join(missing) or 'none'}; "
                f"unknown columns: {', '.join(unknown) or 'none'}"
            )
        return [_read_row(number, row) for number, row in enumerate(rows, start=2)]


def _read_row(number: int, cells: dict[str, str]) -> tuple[dict[str, Value], list[str]]:
    row: dict[str, Value] = {}
    faults: list[str] = []
    for name, (read, expected, may_be_blank) in COLUMNS.items():
        cell = (cells.get(name) or "").strip()
        row[name] = None
        if not cell and may_be_blank:
            continue
        try:
            row[name] = read(cell) if cell else _refuse()
        except (ValueError, KeyError):
            faults.append(f"row {number}: {name} = {cell!r}: expected {expected}")
    return row, faults + _disordered(number, row)


def _refuse() -> Value:
    raise ValueError


def _disordered(number: int, row: dict[str, Value]) -> list[str]:
    faults = []
    for smaller, larger in ORDERED:
        low, high = row[smaller], row[larger]
        if isinstance(low, float) and isinstance(high, float) and low > high:
            faults.append(
                f"row {number}: {smaller} = {low:g} exceeds {larger} = {high:g}"
            )
    if (row["at_spacing_mm"] is None) != (row["at_edge_mm"] is None):
        faults.append(f"row {number}: at_spacing_mm and at_edge_mm go together")
    return faults


def _repeated_codes(sheet: list[dict[str, Value]]) -> list[str]:
    first_row: dict[Value, int] = {}
    faults = []
    for number, row in enumerate(sheet, start=2):
        code = row["setting_code"]
        if code in first_row:
            faults.append(
                f"row {number}: setting_code = {code!r}: "
                f"stands in row {first_row[code]} already"
            )
        first_row.setdefault(code, number)
    return faults


def load_setting_data(
    con: duckdb.DuckDBPyConnection, path: Path, now: datetime
) -> Receipt:
    """Load a sheet in one transaction; installations it touches are judged again."""
    sheet = read_setting_sheet(path)
    con.execute("begin")
    try:
        receipt = _load_sheet(con, path, sheet, now)
        con.execute("commit" if receipt.is_new else "rollback")
    except BaseException:
        con.execute("rollback")
        raise
    return receipt


def _load_sheet(
    con: duckdb.DuckDBPyConnection,
    path: Path,
    sheet: list[dict[str, Value]],
    now: datetime,
) -> Receipt:
    source_file_id = next_source_file_id(con)
    _stage_sheet(con, path, sheet)
    loaded, revised = _changed_codes(con)
    judged_again = _replace_and_judge(con, source_file_id)
    receipt = Receipt(
        source_file_id=source_file_id,
        content="setting data",
        site_code=None,
        file_name=path.name,
        sha256=sha256_of(path),
        byte_count=path.stat().st_size,
        site_map_sha256=None,
        loaded_at=now,
        rows_read=len(sheet),
        loaded=loaded,
        revised=revised,
        duplicate=len(sheet) - loaded - revised,
        rejected=0,
        field_faults=0,
        remarks=[f"{judged_again} installations judged again"] if judged_again else [],
        is_new=loaded + revised > 0,
    )
    if receipt.is_new or receipt_of_same_file(con, receipt) is None:
        insert_receipt(con, receipt)
    return receipt


def _stage_sheet(
    con: duckdb.DuckDBPyConnection, path: Path, sheet: list[dict[str, Value]]
) -> None:
    """Put the sheet into the temporary table `sheet`, with each size's diameter."""
    con.execute(
        """
        create or replace temp table sheet as
        select * exclude (source_file_id) from setting_data where false
        """
    )
    frame = pl.DataFrame(sheet, infer_schema_length=None)
    con.register("sheet_frame", frame.to_arrow())
    con.execute(
        """
        insert into sheet by name
        select *, coalesce(size_diameter_mm(anchor_size), 0) as diameter_mm
        from sheet_frame
        """
    )
    con.unregister("sheet_frame")
    unknown = con.execute(
        "select distinct anchor_size from sheet where diameter_mm = 0"
    ).fetchall()
    if unknown:
        sizes = ", ".join(repr(size) for (size,) in unknown)
        raise FirmsetError(
            f"{path}: anchor_size = {sizes}: expected a size such as M12 or 1/2"
        )


def _changed_codes(con: duckdb.DuckDBPyConnection) -> tuple[int, int]:
    """Reduce `sheet` to new and changed rows; return how many of each."""
    con.execute(
        """
        create or replace temp table sheet as
        select * from sheet
        except
        select * exclude (source_file_id) from setting_data
        """
    )
    changed = con.execute(
        """
        select
            count(*) filter (where held.setting_code is null),
            count(held.setting_code)
        from sheet
        left join setting_data as held on sheet.setting_code = held.setting_code
        """
    ).fetchall()
    return changed[0][0], changed[0][1]


def _replace_and_judge(con: duckdb.DuckDBPyConnection, source_file_id: int) -> int:
    """Take the changed rows over and judge their installations again; count these."""
    con.execute(
        """
        create or replace temp table touched as
        select * from installation
        where setting_code in (select setting_code from sheet)
        """
    )
    judged_again = int(con.execute("select count(*) from touched").fetchall()[0][0])
    if not judged_again:
        _replace_rows(con, source_file_id)
        return 0
    con.execute(add_to_tally_sql("touched", sign=-1))
    con.execute(
        """
        delete from installation
        where setting_code in (select setting_code from sheet)
        """
    )
    _replace_rows(con, source_file_id)
    masks = ", ".join(MASKS)
    con.execute(
        "insert into installation by name "
        + verdict_masks_sql(
            f"(select * exclude ({masks}) from touched)", with_calibrations=True
        )
    )
    con.execute(
        add_to_tally_sql(
            """(
                from installation
                where setting_code in (select setting_code from sheet)
            )""",
            sign=1,
        )
    )
    rejudge_uses(con, "touched")
    return judged_again


def _replace_rows(con: duckdb.DuckDBPyConnection, source_file_id: int) -> None:
    con.execute(
        """
        delete from setting_data
        where setting_code in (select setting_code from sheet)
        """
    )
    con.execute(
        "insert into setting_data by name select *, ? as source_file_id from sheet",
        [source_file_id],
    )
