"""The committed small logs: as their script makes them, with the faults it counts."""

import csv
import json
import tomllib
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

import fastexcel
import pytest

from demo_data.make_small_logs import (
    EXPECTED_RECEIPTS,
    SMALL_LOGS_FOLDER,
    make_small_logs,
)
from demo_data.setting import read_setting_data
from demo_data.sites import SITES

SITE_MAPS = {
    path.stem: tomllib.loads(path.read_text("utf-8"))
    for path in sorted(SMALL_LOGS_FOLDER.glob("*.toml"))
}
# The five formats of the brief, by site.
FILE_NAMES = {
    "marl": "marl_anchors.csv",
    "nessel": "nessel_protokoll.csv",
    "oakum": "oakum_log.csv",
    "pumice": "pumice_book.xlsx",
    "quartz": "quartz_app.jsonl",
}
NUMBERS = ("hole_depth_mm", "setting_torque_nm", "drill_s")


def sheet_cells(path: Path) -> list[tuple[Any, ...]]:
    """Return the cells of a workbook's first sheet as text, row by row."""
    sheet = fastexcel.read_excel(path).load_sheet(0, header_row=None, dtypes="string")
    return list(sheet.to_polars().rows())


def read_records(name: str) -> Iterator[dict[str, Any] | None]:
    """Yield each row as canonical column -> text; None for a line that is broken.

    Written for these files only, apart from the loader: merged cells are filled down,
    words stay the site's own.
    """
    site_map, path = SITE_MAPS[name], SMALL_LOGS_FOLDER / FILE_NAMES[name]
    headers = {
        column: entry if isinstance(entry, str) else entry["from"]
        for column, entry in site_map["columns"].items()
    }
    above: dict[str, Any] = {}
    for row in _raw_rows(path, site_map["files"]):
        if row is None:
            yield None
            continue
        record = {column: row.get(header) for column, header in headers.items()}
        for column, entry in site_map["columns"].items():
            if isinstance(entry, dict) and entry.get("fill_down"):
                record[column] = above[column] = record[column] or above[column]
        yield record


def _raw_rows(path: Path, files: dict[str, Any]) -> Iterator[dict[str, Any] | None]:
    if path.suffix == ".jsonl":
        for line in path.read_text("utf-8").splitlines():
            try:
                yield json.loads(line)
            except json.JSONDecodeError:
                yield None
    elif path.suffix == ".xlsx":
        rows = sheet_cells(path)
        for row in rows[files["header_row"] :]:
            yield dict(zip(rows[files["header_row"] - 1], row, strict=True))
    else:
        text = path.read_bytes().decode(
            {"windows-1252": "cp1252"}.get(files.get("encoding", ""), "utf-8")
        )
        yield from csv.DictReader(
            text.splitlines(), delimiter=files.get("delimiter", ",")
        )


def test_on_disk_as_the_script_makes_them(tmp_path: Path) -> None:
    """A workbook's bytes depend on the library's version: its cells are compared."""
    make_small_logs(tmp_path)
    made = sorted(path.relative_to(tmp_path) for path in tmp_path.rglob("*.*"))
    kept = sorted(
        path.relative_to(SMALL_LOGS_FOLDER) for path in SMALL_LOGS_FOLDER.rglob("*.*")
    )
    assert made == kept
    for path in made:
        one, two = tmp_path / path, SMALL_LOGS_FOLDER / path
        if path.suffix == ".xlsx":
            assert sheet_cells(one) == sheet_cells(two)
        else:
            assert one.read_bytes() == two.read_bytes(), path


@pytest.mark.parametrize("name", FILE_NAMES)
def test_receipt_counts_what_is_in_the_file(name: str) -> None:
    """The fates once more, row by row, by the rules of design section 6."""
    known = set(read_setting_data()["setting_code"])
    date_key = "installed_at" if name == "quartz" else "installed_on"
    counts = dict.fromkeys(
        ("rows_read", "loaded", "revised", "duplicate", "rejected", "field_faults"), 0
    )
    seen: dict[str, tuple[int, Any]] = {}
    for record in read_records(name):
        counts["rows_read"] += 1
        fate = _fate(record, known, seen, SITE_MAPS[name], date_key)
        counts[fate] += 1
        if fate in ("loaded", "revised") and record is not None:
            counts["field_faults"] += sum(
                not _is_number(record[column]) for column in NUMBERS if record[column]
            )
    with (SMALL_LOGS_FOLDER / EXPECTED_RECEIPTS).open(encoding="utf-8") as lines:
        receipts = {row["file_name"]: row for row in csv.DictReader(lines)}
    expected = receipts[FILE_NAMES[name]]
    assert {key: str(count) for key, count in counts.items()} == {
        key: expected[key] for key in counts
    }
    assert counts["loaded"] == 300


def _fate(
    record: dict[str, Any] | None,
    known: set[str],
    seen: dict[str, tuple[int, Any]],
    site_map: dict[str, Any],
    date_key: str,
) -> str:
    if (
        record is None
        or not all(record[key] for key in ("record_id", "crew_code", date_key))
        or not _is_date(str(record[date_key]), site_map)
        or record["setting_code"] not in known
    ):
        return "rejected"
    revision = int(record["revision"])
    if record["record_id"] not in seen:
        seen[record["record_id"]] = (revision, record)
        return "loaded"
    last_revision, last = seen[record["record_id"]]
    if record == last:
        return "duplicate"
    if revision > last_revision:
        seen[record["record_id"]] = (revision, record)
        return "revised"
    return "rejected"


def _is_date(cell: str, site_map: dict[str, Any]) -> bool:
    style = site_map.get("dates", {}).get("format")
    try:
        if style:
            datetime.strptime(cell, style)
        else:
            datetime.fromisoformat(cell)
    except ValueError:
        return False
    return True


def _is_number(cell: object) -> bool:
    """Numbers of all five files: decimal comma or point, or inches and a fraction."""
    parts = str(cell).replace(",", ".").split(" ")
    try:
        for part in parts:
            top, _, bottom = part.partition("/")
            float(top), float(bottom or 1)
    except ValueError:
        return False
    return True


def test_formats_are_what_they_are_called() -> None:
    german = (SMALL_LOGS_FOLDER / FILE_NAMES["nessel"]).read_bytes()
    with pytest.raises(UnicodeDecodeError):
        german.decode("utf-8")
    assert b"\x96" in german  # a dash that Latin-1 does not have
    assert ";9,5;" in german.decode("cp1252")
    inches = (SMALL_LOGS_FOLDER / FILE_NAMES["oakum"]).read_text("utf-8")
    assert ",4 1/8," in inches
    assert ",10.25," in inches
    assert ",07/06/2026," in inches
    title, invented, headers, *_ = sheet_cells(SMALL_LOGS_FOLDER / FILE_NAMES["pumice"])
    assert [sum(cell is not None for cell in row) for row in (title, invented)] == [
        1,
        1,
    ]
    assert headers[0] == "Day"


def test_merged_cells_leave_blanks_to_fill() -> None:
    rows = sheet_cells(SMALL_LOGS_FOLDER / FILE_NAMES["pumice"])[3:]
    assert sum(row[0] is None for row in rows) > 100
    assert all(record and record["work_area"] for record in read_records("pumice"))


def test_sites_and_crews_are_their_own() -> None:
    """Crew codes are unique across the company, so these meet none of the twelve."""
    taken = {code for site in SITES for code in (site.code, *site.crew_codes)}
    for name, site_map in SITE_MAPS.items():
        crews = {record["crew_code"] for record in read_records(name) if record}
        assert not taken & {site_map["site"]["code"], *crews}
        taken |= crews - {None, ""}
