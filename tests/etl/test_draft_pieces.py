"""Drafting of cells that hold several figures under a header that names each.

Which piece is which column is common practice of the trade (no published source); what
a load makes of the draft is by hand.
"""

from pathlib import Path

import pytest

from etl.draft.draft import draft_of
from etl.draft.drafted import Draft
from etl.draft.write import toml_of
from tests.builders import build_store, load, write_csv

NEEDED = {"No.": "7", "Date": "2026-05-04", "Crew": "K1"}


def drafted(folder: Path, header: str, cells: list[str]) -> Draft:
    rows = [
        NEEDED | {"No.": str(place), header: cell} for place, cell in enumerate(cells)
    ]
    return draft_of(write_csv(folder / "log.csv", rows))


def active(draft: Draft) -> dict[str, tuple[str, str | None]]:
    """Return which piece each column is, and its unit, of those that are pieces."""
    return {
        one.column.name: (f"{one.piece.place} of {one.piece.count}", one.said.value)
        for one in draft.active
        if one.piece is not None
    }


@pytest.mark.parametrize(
    ("header", "cells", "expected"),
    [
        (
            "Bohrtiefe Soll/Ist (mm)",
            ["90/93", "90/91"],
            {"hole_depth_mm": ("2 of 2", "mm")},
        ),
        (
            "Depth (req/act) in",
            ["3.5/3.7", "3.5 / 3.6"],
            {"hole_depth_mm": ("2 of 2", "in")},
        ),
        (
            "Reinigung Bürsten/Ausblasen",
            ["4x/2x", "2x/2x"],
            {"brush_count": ("1 of 2", None), "blow_count": ("2 of 2", None)},
        ),
        ("Blow | brush | blow", ["4|3|4"] * 2, {"brush_count": ("2 of 3", None)}),
        (
            "Randabstand c1/c2 [cm]",
            ["12/frei", "9/15"],
            {"edge_1_mm": ("1 of 2", "cm"), "edge_2_mm": ("2 of 2", "cm")},
        ),
        (
            "Edge distance 1/2 (mm)",
            ["120/150", "90/95"],
            {"edge_1_mm": ("1 of 2", "mm"), "edge_2_mm": ("2 of 2", "mm")},
        ),
        # A blank must part the figures, each of which has a stroke of its own.
        (
            "Depth req/act (in)",
            ["3 1/2 / 3 5/8", "3 1/2 / 3 3/4"],
            {"hole_depth_mm": ("2 of 2", "in")},
        ),
        # A size is one figure; so is a day. A crew and its foreman are no figures.
        ("Depth in/out (in)", ["1/2", "3/8", "5/8"], {}),
        ("Depth, day/month", ["04/05/2026", "05/05/2026"], {}),
        ("Crew / foreman", ["K1/Ash", "K2/Elm"], {}),
        # Half of the cells hold two.
        ("Depth req/act (mm)", ["90/93", "91"], {}),
        ("Depth req/act/again (mm)", ["90/93", "90/91"], {}),
    ],
)
def test_each_figure_of_a_cell_is_placed_by_its_own_words(
    tmp_path: Path,
    header: str,
    cells: list[str],
    expected: dict[str, tuple[str, str | None]],
) -> None:
    assert active(drafted(tmp_path, header, cells)) == expected


def test_a_draft_of_such_cells_reads_them(tmp_path: Path) -> None:
    store = build_store(tmp_path / "store")
    rows = [
        NEEDED
        | {
            "No.": str(place),
            "Setting data": "M12-68",
            "Edge c1/c2 (cm)": edges,
            "Depth (req/act) mm": depth,
        }
        for place, (edges, depth) in enumerate(
            [("12/free", "90/93"), ("9.5/20", "90/88.5"), ("10/11", "90/-")]
        )
    ]
    log = write_csv(tmp_path / "log.csv", rows)
    log.with_suffix(".toml").write_text(toml_of(draft_of(log), "FIGURES"), "utf-8")
    [receipt] = load(store, log).receipts
    assert (receipt.loaded, receipt.field_faults) == (3, 0)
    with store.reader() as con:
        found = con.execute(
            "select edge_1_mm, edge_2_mm, hole_depth_mm from installation "
            "order by record_id"
        ).fetchall()
    assert found == [(120.0, float("inf"), 93.0), (95.0, 200.0, 88.5), (100, 110, None)]


def test_of_figures_that_the_header_does_not_name_the_draft_says_how(
    tmp_path: Path,
) -> None:
    [remark] = drafted(tmp_path, "Depth", ["90 / 93", "90 / 91"]).remarks
    assert remark.startswith("'Depth' holds 2 figures in a cell, parted by '/'")
    assert '{from = "Depth", split = "/", piece = "1 of 2"}' in remark


@pytest.mark.parametrize("cell", ["04/05/2026", "1/2", "93", "K1/Ash", "a;b"])
def test_of_one_figure_it_says_nothing(tmp_path: Path, cell: str) -> None:
    remarks = drafted(tmp_path, "Depth", [cell] * 3).remarks
    assert not [remark for remark in remarks if "figures in a cell" in remark]


def test_a_records_number_may_be_of_two_parts_and_is_never_one(tmp_path: Path) -> None:
    for header, numbered in (("Plate/anchor no.", True), ("No. found/lost", False)):
        rows = [{header: f"{place}/1", "Date": "2026-05-04"} for place in range(20)]
        draft = draft_of(write_csv(tmp_path / "log.csv", rows))
        found = {one.column.name: one.piece for one in draft.placed}
        assert ("record_id" in found) == numbered, header
        assert found.get("record_id") is None


def test_what_is_not_placed_is_said_by_its_whole_header(tmp_path: Path) -> None:
    draft = drafted(tmp_path, "Wind / rain", ["90/93", "90/91"])
    assert draft.unplaced == ("Wind / rain",)
