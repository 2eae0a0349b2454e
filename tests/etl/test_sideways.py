"""Logs that lie on their side, and those that only look so."""

from pathlib import Path

import pytest

from etl.draft.draft import draft_of
from queries.errors import FirmsetError

ASIDE = [
    ["Check sheet", "", "", "", ""],
    ["Anchor No.", "1", "2", "3", "4"],
    ["Date", "2026-05-04", "2026-05-04", "2026-05-05", "2026-05-05"],
    ["Hole depth (mm)", "92", "93", "92", "95"],
    ["Hole cleaned (Y/N)", "Yes", "Yes", "No", "Yes"],
    ["Torque (Nm)", "55", "54", "55", "56"],
]


def test_a_log_on_its_side_is_told(tmp_path: Path) -> None:
    lines = [[str(place), *row] for place, row in enumerate(ASIDE)]
    for rows in (ASIDE, lines):
        path = tmp_path / "log.csv"
        path.write_text("\n".join(map(",".join, rows)), "utf-8")
        with pytest.raises(FirmsetError, match=r"lies on its side: 'Anchor No\.', "):
            draft_of(path)


def test_a_form_with_titles_on_its_left_lies_as_it_should(tmp_path: Path) -> None:
    titles = [
        ["Crew", "C1", "", "", ""],
        ["Inspector", "Ann", "", "Wrench", "W1"],
        ["Drill method", "hammer", "", "", ""],
        ["Concrete", "C25/30", "", "", ""],
        ["Work area", "Bay 1", "", "", ""],
    ]
    table = [list(row) for row in zip(*ASIDE[1:], strict=True)]
    path = tmp_path / "log.csv"
    path.write_text("\n".join(map(",".join, titles + table)), "utf-8")
    assert {one.column.name for one in draft_of(path).active} >= {
        *("record_id", "installed_on", "hole_depth_mm", "cleaned"),
    }


def test_words_for_columns_in_cells_are_values(tmp_path: Path) -> None:
    """As a log whose first column says what was wrong with the anchor."""
    found = ["Found", "Torque", "Hole depth", "Edge distance", "Spacing"]
    rows = zip(found, *ASIDE[1:], strict=True)
    path = tmp_path / "log.csv"
    path.write_text("\n".join(map(",".join, rows)), "utf-8")
    assert draft_of(path).header.row.value == 1


def test_values_that_look_like_words_for_one_column_are_values(tmp_path: Path) -> None:
    """As places on a grid do: "C8" may be short for the distance to the edge."""
    places = ["Level / Grid", "L2 / C1", "L2 / C3", "L2 / C4", "L2 / C8", "L2 / C9"]
    plain = [["No.", *(str(number) for number in range(1, 6))], places]
    anchors = ["Anchor", *["M12 x 110"] * 5]
    torque = ["Torque (Nm)", "55", "54", "55", "56", "57"]
    wrench = ["Wrench", *["W1"] * 5]
    rows = zip(*plain, anchors, torque, wrench, strict=True)
    path = tmp_path / "log.csv"
    path.write_text("\n".join(map(",".join, rows)), "utf-8")
    assert draft_of(path).header.row.value == 1
