"""The indicative cone ratio: what it is, what is stored of it, the lowest first."""

from pathlib import Path
from typing import Any

import pytest

from queries.readers.follow_up import read_lowest_ratios
from queries.readers.records import read_record
from queries.selection import Selection
from tests.builders import Row, build_store
from tests.queries.checks.cases_length import CONE_RATIOS, CONE_SETTING


def ratios(tmp_path: Path, row: Row, **setting: object) -> dict[str, Any]:
    with build_store(tmp_path, [row], settings=[setting]).reader() as con:
        record = read_record(con, "SITE-1", "R1")
    assert record is not None
    return dict(record.ratio)


# EN 1992-4 7.2.1.4: N0 of 100 mm in C20/25 cracked is 34.44 kN, of 80 mm 24.64 kN (7.7
# sqrt(20) h_ef^1.5); one edge at 75 mm of h_ef 100: psi_s 0.85. ACI 318-19 17.6.2: edge
# 4 in. of h_ef 4 in.: 0.90. All from memory, worked through by hand.
def test_what_a_short_embedment_leaves(tmp_path: Path) -> None:
    for share, ratio in CONE_RATIOS.items():
        row = {
            "embedment_mm": f"{100 * share:.0f}",
            "edge_1_mm": "clear",
            "hole_depth_mm": "131",
            "anchor_length_mm": "150",
        }
        found = ratios(tmp_path / str(share), row, **CONE_SETTING)
        assert found["cone_ratio"] == pytest.approx(ratio, abs=5e-4)
    # The last but one is 80 mm of 100 mm.
    assert CONE_RATIOS[0.80] == pytest.approx(24.64 / 34.44, abs=1e-3)


@pytest.mark.parametrize(
    ("edge", "embedment", "psi"),
    [("75", "100", 0.85), ("101.6", "101.6", 0.90), ("clear", "100", 1.0)],
)
def test_what_a_near_edge_leaves(
    tmp_path: Path, edge: str, embedment: str, psi: float
) -> None:
    found = ratios(
        tmp_path,
        {"edge_1_mm": edge, "embedment_mm": embedment},
        **CONE_SETTING | {"embedment_mm": embedment},
    )
    assert found["edge_ratio"] == pytest.approx(psi)
    assert found["cone_ratio"] == pytest.approx(psi)


def test_deeper_makes_up_for_no_edge(tmp_path: Path) -> None:
    row = {"edge_1_mm": "75", "embedment_mm": "120"}
    assert ratios(tmp_path / "a", row, **CONE_SETTING)["cone_ratio"] == pytest.approx(
        0.85
    )
    nothing = {"edge_1_mm": "", "packing_mm": ""}
    assert ratios(tmp_path / "b", nothing)["cone_ratio"] is None


def test_what_is_stored_of_an_anchor(tmp_path: Path) -> None:
    """From the geometry, worked by hand; psi_s and the power as above."""
    length = {"anchor_length_mm": "90", "fixture_thickness_mm": "5"} | {
        "packing_mm": "4.6",
        "projection_mm": "15",
    }
    rows: list[Row] = [
        # 90 - 5 - 4.6 - 15, less 79 - 68 to the bolt's tip: 54.4, 80 % of 68.
        {"record_id": "derived", "edge_1_mm": "clear", **length},
        # The nearer edge, at half of 1.5 h_ef = 102.
        {"record_id": "edge", "edge_1_mm": "120", "edge_2_mm": "51"},
        {"record_id": "gone", "embedment_mm": "54.4", "outcome": "abandoned"},
    ]
    with build_store(tmp_path, rows).reader() as con:
        stored = con.execute("select record_id, cone_ratio from installation")
        found = dict(stored.fetchall())
    assert found["derived"] == pytest.approx(0.8**1.5)
    assert found["edge"] == pytest.approx(0.85)
    assert found["gone"] is None


def test_the_lowest_ratios_of_a_selection(tmp_path: Path) -> None:
    """The newest of equal ones first, and no more than asked for."""
    short = {"embedment_mm": "54.4", "edge_1_mm": "clear"}  # 80 % of 68: 0.716.
    rows: list[Row] = [
        {"record_id": "early", "installed_on": "2026-05-04", **short},
        {"record_id": "late", "installed_on": "2026-05-06", **short},
        {"record_id": "middle", "installed_on": "2026-05-05", **short},
        {"record_id": "least", "embedment_mm": "34", "edge_1_mm": "clear"},
        # Lost by its edge alone, which conforms.
        {"record_id": "edge", "edge_1_mm": "100", "embedment_mm": "68"},
        {"record_id": "other size", "setting_code": "M10", **short},
    ]
    settings = [{}, {"setting_code": "M10", "anchor_size": "M10"}]
    m12 = Selection(anchor_sizes=("M12",))
    with build_store(tmp_path, rows, settings=settings).reader() as con:
        assert list(read_lowest_ratios(con, m12, 2)["record_id"]) == ["least", "late"]
        found = read_lowest_ratios(con, m12, 9)
        every = read_lowest_ratios(con, Selection(), 9)
    assert list(found["record_id"]) == ["least", "late", "middle", "early"]
    assert found["nonconforming_checks"].to_list() == [["embedment"]] * 4
    assert "other size" in every["record_id"].to_list()
