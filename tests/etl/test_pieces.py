"""Several values in a cell, `90/93`: the site map says which of them a column is.

Expected by hand, from the manual's sentences on `split` and `piece`.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path

import pytest

from etl.intake import IntakeResult
from etl.site_map import read_site_map
from queries.errors import FirmsetError
from queries.store import Store
from tests.builders import Row, build_store, load, write_csv
from tests.etl.correcting import given_back, open_rejects, sent_again

MAP = """
[site]
code = "PIECES"
name = "Invented site of full cells"
time_zone = "Europe/Madrid"
[files]
match = "pieces.csv"
[columns]
record_id = "No"
installed_on = "Day"
crew_code = "Crew"
setting_code = "Anchor"
{columns}
"""
ROW: Row = {"No": 1, "Day": "2026-05-04", "Crew": "K1", "Anchor": "M12-68"}


def write_pieces(folder: Path, rows: Sequence[Row], columns: str) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "pieces.toml").write_text(MAP.replace("{columns}", columns), "utf-8")
    numbered = [ROW | {"No": place} | row for place, row in enumerate(rows, start=1)]
    return write_csv(folder / "pieces.csv", numbered)


def load_pieces(
    folder: Path, rows: Sequence[Row], columns: str
) -> tuple[Store, IntakeResult]:
    store = build_store(folder)
    result = load(store, write_pieces(folder / "pieces", rows, columns))
    assert not result.failures, result.failures
    return store, result


def values(store: Store, *names: str) -> list[tuple[object, ...]]:
    with store.reader() as con:
        return con.execute(
            f"select {', '.join(names)} from installation order by record_id::integer"
        ).fetchall()


def faults(store: Store) -> list[tuple[object, ...]]:
    with store.reader() as con:
        return con.execute(
            "select column_name, raw_value, reason from field_fault "
            "order by source_row, column_name"
        ).fetchall()


DEPTH = 'hole_depth_mm = {from = "Depth", split = "/", piece = "2 of 2"}'


def test_each_column_takes_its_value_of_a_cell(tmp_path: Path) -> None:
    columns = """
brush_count = {from = "Blown/brushed/blown", split = "/", piece = "2 of 3"}
blow_count = {from = "Blown/brushed/blown", split = "/", piece = "3 of 3"}
edge_1_mm = {from = "Edges", split = "/", piece = "1 of 2", unit = "cm"}
edge_2_mm = {from = "Edges", split = "/", piece = "2 of 2", unit = "cm"}
[codes.edge_2_mm]
free = "clear"
"""
    rows: list[Row] = [
        {"Blown/brushed/blown": "2x/4x/3x", "Edges": "12/free"},
        # A blank at the sign, a unit of its own, a value that is missing.
        {"Blown/brushed/blown": " 2 / 4 / 3 ", "Edges": "120 mm/9,5"},
        {"Blown/brushed/blown": "2//3", "Edges": "-/15"},
        {"Blown/brushed/blown": "", "Edges": "n/a"},
    ]
    store, _ = load_pieces(tmp_path, rows, columns)
    found = values(store, "brush_count", "blow_count", "edge_1_mm", "edge_2_mm")
    infinite = float("inf")
    assert found == [
        (4, 3, 120.0, infinite),
        (4, 3, 120.0, None),
        (None, 3, None, 150.0),
        (None, None, None, None),
    ]
    # "9,5" has a comma, where the map says a point.
    [(column, raw, reason)] = faults(store)
    assert (column, raw) == ("edge_2_mm", "120 mm/9,5")
    assert reason == (
        "found a decimal comma; expected a number of cm, 0 or more, or clear"
    )


@pytest.mark.parametrize("cell", ["90", "90/93/95", "about 90"])
def test_a_cell_of_another_number_of_values_is_not_read(
    tmp_path: Path, cell: str
) -> None:
    store, result = load_pieces(tmp_path, [{"Depth": cell}, {"Depth": "90/93"}], DEPTH)
    assert values(store, "hole_depth_mm") == [(None,), (93.0,)]
    assert faults(store) == [
        ("hole_depth_mm", cell, "expected 2 values in the cell, parted by '/'")
    ]
    [receipt] = result.receipts
    assert (receipt.loaded, receipt.rejected) == (2, 0)


@pytest.mark.parametrize(
    ("sign", "cell", "text"),
    [
        ("x", "M12 X 110", "110"),
        (" ", "M12   110 ", "110"),
        ("-", "M12 - 110", "110"),
        (" / ", "1/2 / 4-1/2", "4-1/2"),
        (".", "M12.110", "110"),
        ("'", "M12'110", "110"),
        ("\\\\", "M12\\110", "110"),
        ("(?", "M12(?110", "110"),
        ("×", "M12×110", "110"),
        ("\\u0000", "M12 110", None),
    ],
)
def test_what_parts_them_may_be_any_sign(
    tmp_path: Path, sign: str, cell: str, text: str | None
) -> None:
    columns = f'work_area = {{from = "What", split = "{sign}", piece = "2 of 2"}}'
    store, _ = load_pieces(tmp_path, [{"What": cell}], columns)
    assert values(store, "work_area") == [(text,)]


def test_a_text_is_not_taken_for_one_of_its_values(tmp_path: Path) -> None:
    columns = 'work_area = {from = "Where", split = "/", piece = "1 of 2"}'
    store, _ = load_pieces(tmp_path, [{"Where": "North"}], columns)
    assert values(store, "work_area") == [(None,)]
    assert [fault[:2] for fault in faults(store)] == [("work_area", "North")]


def test_merged_cells_hold_their_values_for_each_row(tmp_path: Path) -> None:
    columns = DEPTH.replace("}", ", fill_down = true}")
    rows: list[Row] = [{"Depth": "90/93"}, {"Depth": ""}, {"Depth": "90"}]
    store, _ = load_pieces(tmp_path, rows, columns)
    assert values(store, "hole_depth_mm") == [(93.0,), (93.0,), (None,)]
    assert [fault[1] for fault in faults(store)] == ["90"]


CREW = '{from = "Crew", split = "/", piece = "1 of 2"}'


def test_a_row_that_needs_its_value_is_given_back_whole(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path)
    log = write_pieces(tmp_path / "pieces", [{"Crew": "K1"}, {"Crew": "K2/day"}], "")
    its_map = log.with_suffix(".toml")
    text = its_map.read_text("utf-8").replace('"Crew"', CREW)
    its_map.write_text(text, "utf-8")
    assert load(store, log).receipts[0].rejected == 1
    [row] = given_back(store, capsys)
    assert row["Crew"] == "K1"
    sent_again(store, tmp_path / "mend.csv", [row | {"Crew": "K1/night"}])
    assert open_rejects(store) == []
    assert values(store, "crew_code") == [("K1",), ("K2",)]


# The same installations, each value in a cell of its own: an independent reading.
def test_values_of_one_cell_are_those_of_cells_apart(tmp_path: Path) -> None:
    depths = [(90, 93), (75, 74.5), (60, 88)]
    names = ("hole_depth_mm", "installed_on")
    joined, _ = load_pieces(
        tmp_path / "joined", [{"Depth": f"{a}/{b}"} for a, b in depths], DEPTH
    )
    apart, _ = load_pieces(
        tmp_path / "apart",
        [{"Required": a, "Found": b} for a, b in depths],
        'hole_depth_mm = "Found"',
    )
    day = date(2026, 5, 4)
    assert values(joined, *names) == values(apart, *names)
    assert values(apart, *names) == [(b, day) for _, b in depths]


MAP_FAULTS: Mapping[str, str] = {
    '{from = "Depth", split = "/"}': "piece = nothing: expected which of the values",
    '{from = "Depth", piece = "1 of 2"}': "split = nothing: expected what parts",
    '{from = "Depth", split = "", piece = "1 of 2"}': "expected what parts the values",
    '{from = "Depth", split = "/", piece = "3 of 2"}': "'3 of 2': expected which of",
    '{from = "Depth", split = "/", piece = 2}': "piece = 2: expected which of the",
    '{from = "Depth", split = "/", piece = "1 of 10"}': "9 at most",
}


@pytest.mark.parametrize("said", MAP_FAULTS)
def test_a_map_says_what_parts_the_values_and_which_it_means(
    tmp_path: Path, said: str
) -> None:
    log = write_pieces(tmp_path, [], f"hole_depth_mm = {said}")
    with pytest.raises(FirmsetError) as raised:
        read_site_map(log.with_suffix(".toml"))
    assert MAP_FAULTS[said] in str(raised.value)


def test_several_headers_and_one_piece_of_one_do_not_go_together(
    tmp_path: Path,
) -> None:
    said = 'note = {from = ["A", "B"], split = "/", piece = "1 of 2"}'
    log = write_pieces(tmp_path, [], said)
    with pytest.raises(FirmsetError, match="split is for one header"):
        read_site_map(log.with_suffix(".toml"))


def test_two_columns_do_not_take_the_same_value_of_a_cell(tmp_path: Path) -> None:
    other = DEPTH.replace("hole_depth_mm", "embedment_mm")
    log = write_pieces(tmp_path, [], f"{DEPTH}\n{other}")
    with pytest.raises(FirmsetError, match="and so does hole_depth_mm"):
        read_site_map(log.with_suffix(".toml"))
