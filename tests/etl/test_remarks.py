"""What a receipt says by itself: of values that it could not read, and other sheets."""

from pathlib import Path

import pytest
import xlsxwriter

from tests.builders import build_store, load

MAP = """
[site]
code = "YARD"
name = "Invented yard"
time_zone = "Europe/Lisbon"
[files]
match = "yard.*"
{sheet}
[columns]
record_id = "No"
installed_on = "Day"
crew_code = "Crew"
setting_code = "Code"
hole_depth_mm = "Depth"
setting_torque_nm = "Torque"
"""
ROWS = [
    ["No", "Day", "Crew", "Code", "Depth", "Torque"],
    ["1", "2026-05-04", "C1", "M12-68", "92", "55"],
    ["2", "2026-05-04", "C1", "M12-68", "deep", "firm"],
    ["3", "2026-05-05", "C1", "M12-68", "deeper", "54"],
]


def remarks_of(tmp_path: Path, path: Path, sheet: str = "") -> list[str]:
    store = build_store(tmp_path / "store")
    path.with_suffix(".toml").write_text(MAP.format(sheet=sheet), "utf-8")
    [receipt, *_] = load(store, path).receipts
    return list(receipt.remarks)


def test_values_that_cannot_be_read_are_named_by_column(tmp_path: Path) -> None:
    path = tmp_path / "yard.csv"
    path.write_text("".join(",".join(row) + "\n" for row in ROWS), "utf-8")
    depth, torque = remarks_of(tmp_path, path)
    assert depth == (
        "hole_depth_mm: 2 values could not be read, the first in row 3: 'deep', "
        "expected a number of mm, 0 or more"
    )
    assert torque == (
        "setting_torque_nm: 1 value could not be read, in row 3: 'firm', expected a "
        "number of Nm, 0 or more"
    )


@pytest.mark.parametrize(
    ("sheet", "expected"),
    [
        ("", "read was the first sheet, 'North', and not 'South', 'Key': a question"),
        ('sheet = "South"', "not read was sheet 'North', which the site map does not"),
        ('sheet = ["North", "South"]', None),
    ],
)
def test_sheets_that_no_map_names_are_asked_about(
    tmp_path: Path, sheet: str, expected: str | None
) -> None:
    path = tmp_path / "yard.xlsx"
    with xlsxwriter.Workbook(path) as book:
        for name in ("North", "South", "Key"):
            page = book.add_worksheet(name)
            # The key is no log, and nothing is asked of it.
            for place, row in enumerate([["Sign"]] if name == "Key" else ROWS[:2]):
                page.write_row(place, 0, row)
    said = [line for line in remarks_of(tmp_path, path, sheet) if "sheet" in line]
    assert len(said) == (expected is not None)
    assert expected is None or said[0].startswith(expected)
