"""Logs that list their values, one a row, as the tests of them write and load them."""

import csv
import json
from pathlib import Path

import xlsxwriter

from etl.intake import IntakeResult, load_paths
from queries.store import Store
from tests.builders import NOW

MAP = """
[site]
code = "QUAY"
name = "Invented quay"
time_zone = "Europe/Lisbon"
[files]
match = "checks*"
[listed]
anchor = "Anchor"
name = "Item"
value = "Result"
unit = "Unit"
[columns]
record_id = "Anchor"
installed_on = "Day"
crew_code = "Crew"
setting_code = "Spec"
hole_depth_mm = "Depth"
setting_torque_nm = "Torque"
brush_count = "Brushed"
edge_1_mm = "Edge"
note = "Note"
wrench_code = "Wrench"
"""
HEADER = ["Anchor", "Day", "Crew", "Item", "Result", "Unit"]
OF_1 = ["A1", "2026-05-04", "K1"]
OF_2 = ["A2", "2026-05-05", "K2"]
ROWS = [
    [*OF_1, "Spec", "M12-68", ""],
    [*OF_1, "Depth", "9.2", "cm"],
    [*OF_1, "Torque", "55", "Nm"],
    [*OF_2, "Spec", "M12-68", "type"],
    [*OF_2, " depth", "93", "mm"],
    [*OF_1, "Brushed", "2", "pcs"],
    [*OF_2, "Torque", "50.5 Nm", "Nm"],
    [*OF_2, "Edge", "clear", "mm"],
]


def write_checks(
    folder: Path,
    rows: list[list[str]] = ROWS,
    site_map: str = MAP,
    name: str = "checks.csv",
) -> Path:
    """Write rows under HEADER as the kind of file that the name says, with a map."""
    path = folder / name
    if path.suffix == ".jsonl":
        lines = [json.dumps(dict(zip(HEADER, row, strict=True))) for row in rows]
        path.write_text("\n".join(lines), "utf-8")
    elif path.suffix == ".xlsx":
        with xlsxwriter.Workbook(path, {"strings_to_numbers": True}) as book:
            sheet = book.add_worksheet()
            for number, row in enumerate([HEADER, *rows]):
                sheet.write_row(number, 0, row)
    else:
        with path.open("w", encoding="utf-8", newline="") as target:
            csv.writer(target).writerows([HEADER, *rows])
    path.with_suffix(".toml").write_text(site_map, "utf-8")
    return path


def taken(store: Store, path: Path) -> IntakeResult:
    return load_paths(store, [path], now=NOW)


ANSWERS = [
    {
        "Anchor": "A1",
        "Day": "2026-05-04",
        "Crew": "K1",
        "form": {
            "answers": [
                {"Item": "Spec", "Result": "M12-68"},
                {"Item": "Depth", "Result": 9.20, "Unit": "cm"},
                {"Item": "Torque", "Result": "55", "Unit": "Nm"},
                {"Item": "", "Result": None},
                {"Item": "Photos", "Result": ["1.jpg", "2.jpg"]},
            ]
        },
    },
    {
        "Anchor": "A2",
        "Day": "2026-05-05",
        "Crew": "K2",
        "form": {
            "answers": [
                {"Item": "Spec", "Result": "M12-68"},
                {"Item": "Brushed", "Result": 2, "Unit": "pcs"},
            ]
        },
    },
    {"Anchor": "A3", "Day": "2026-05-05", "Crew": "K2", "form": {"answers": []}},
]


def write_answers(folder: Path, records: list[dict[str, object]] | None = None) -> Path:
    """Write records with a list of answers each as JSON Lines, with a map."""
    path = folder / "answers.jsonl"
    lines = map(json.dumps, ANSWERS if records is None else records)
    path.write_text("\n".join(lines), "utf-8")
    site_map = MAP.replace("checks*", "answers*")
    for leaf in ("Item", "Result", "Unit"):
        site_map = site_map.replace(f'= "{leaf}"', f'= "form.answers.{leaf}"')
    path.with_suffix(".toml").write_text(site_map, "utf-8")
    return path
