"""One word of a log that says several things: which anchor it was, and how long."""

from pathlib import Path

import pytest

from etl.site_map import read_site_map
from queries.errors import FirmsetError
from queries.store import Store
from tests.builders import load, write_csv, write_setting_data

MAP = """
[site]
code = "PIER"
name = "Invented pier"
time_zone = "Europe/Lisbon"
[files]
match = "log.csv"
[columns]
record_id = "No."
installed_on = "Date"
crew_code = "Gang"
setting_code = "Anchor"
{columns}
[codes.setting_code]
"1/2 x 4-1/2" = "M12-68"
{codes}
"""
LENGTHS = '[codes.anchor_length_mm]\n"1/2 x 4-1/2" = 114.3\n"1/2 x 5-1/2" = 139.7'


# 4 1/2 and 5 1/2 inches of 25.4 mm (NIST SP 811); a word without a line is a value that
# cannot be read, as in any column.
def test_a_word_is_read_as_a_code_and_as_a_length(tmp_path: Path) -> None:
    anchors = ("1/2 x 4-1/2", "M12-68", "1/2 X 4-1/2")
    write_csv(
        tmp_path / "log.csv",
        [
            {"No.": number, "Date": "2026-05-04", "Gang": "A", "Anchor": anchor}
            for number, anchor in enumerate(anchors, start=1)
        ],
    )
    text = MAP.format(columns='anchor_length_mm = "Anchor"', codes=LENGTHS)
    (tmp_path / "pier.toml").write_text(text, "utf-8")
    write_setting_data(tmp_path)
    store = Store(tmp_path / "store")
    [_, receipt] = load(store, tmp_path).receipts
    assert (receipt.loaded, receipt.field_faults) == (3, 1)
    with store.reader() as con:
        found = con.execute(
            "select setting_code, anchor_length_mm from installation order by record_id"
        ).fetchall()
    assert found == [("M12-68", 114.3), ("M12-68", None), ("M12-68", 114.3)]


# What is not translated from a code may be a slip of the pen.
@pytest.mark.parametrize(
    ("columns", "codes"),
    [
        ('anchor_length_mm = "Anchor"', ""),
        ('anchor_length_mm = "Date"', LENGTHS),
        ('hole_depth_mm = "Depth"\nanchor_length_mm = "Depth"', LENGTHS),
        ('note = "Gang"', '[codes.note]\n"x" = "y"'),
    ],
)
def test_a_header_twice_is_a_fault(tmp_path: Path, columns: str, codes: str) -> None:
    path = tmp_path / "pier.toml"
    path.write_text(MAP.format(columns=columns, codes=codes), "utf-8")
    with pytest.raises(FirmsetError, match="expected a header for one column only"):
        read_site_map(path)
