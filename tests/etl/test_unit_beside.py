"""A unit in a column of its own beside the figures, as instruments export it.

Factors: NIST SP 811 (2008), appendix B: 1 ft.lbf = 1.355 817 9483 N m, 1 in = 25.4 mm.
"""

import tomllib
from pathlib import Path

import pytest

from etl.draft.draft import draft_of
from etl.draft.write import toml_of
from etl.site_map import read_site_map
from queries.errors import FirmsetError
from tests.builders import Row
from tests.etl.correcting import given_back
from tests.etl.test_pieces import faults, load_pieces, values, write_pieces

COLUMNS = """
setting_torque_nm = {from = ["Torque", "Unit"]}
edge_1_mm = {from = ["Edge", "Edge unit"], unit = "cm"}
"""


def cells(torque: str, unit: str, edge: str = "", edge_unit: str = "") -> Row:
    return {"Torque": torque, "Unit": unit, "Edge": edge, "Edge unit": edge_unit}


def test_the_unit_beside_a_figure_is_its_unit(tmp_path: Path) -> None:
    rows = [
        cells("55", "Nm", "12", "cm"),
        cells("40", " ft-lb ", "4 1/2", "in"),
        cells("", "Nm", "clear", "mm"),
        # Without one, that of the map.
        cells("54.5", "", "12", "-"),
    ]
    store, _ = load_pieces(tmp_path, rows, COLUMNS)
    found = values(store, "setting_torque_nm", "edge_1_mm")
    assert found[0] == (55.0, 120.0)
    assert found[1] == (pytest.approx(40 * 1.3558179483), pytest.approx(114.3))
    assert found[2] == (None, float("inf"))
    assert found[3] == (54.5, 120.0)
    assert faults(store) == []


def test_a_figure_in_no_known_unit_cannot_be_read(tmp_path: Path) -> None:
    store, _ = load_pieces(tmp_path, [cells("55", "kp"), cells("55", "mm")], COLUMNS)
    assert values(store, "setting_torque_nm") == [(None,), (None,)]
    assert [fault[:2] for fault in faults(store)] == [
        ("setting_torque_nm", "55 kp"),
        ("setting_torque_nm", "55 mm"),
    ]


def test_both_cells_come_back_to_be_corrected(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows: list[Row] = [cells("40", "ft-lb") | {"Crew": ""}]
    store, _ = load_pieces(tmp_path, rows, COLUMNS)
    [row] = given_back(store, capsys)
    assert (row["Torque"], row["Unit"]) == ("40", "ft-lb")


def test_a_figure_has_one_unit(tmp_path: Path) -> None:
    columns = 'setting_torque_nm = {from = ["Torque", "Unit", "Status"]}'
    path = write_pieces(tmp_path, [], columns).with_suffix(".toml")
    with pytest.raises(
        FirmsetError, match=r"setting_torque_nm = .*: expected a header"
    ):
        read_site_map(path)


def drafted(folder: Path, text: str) -> dict[str, object]:
    path = folder / "log.csv"
    path.write_text(text, "utf-8")
    found = tomllib.loads(toml_of(draft_of(path)))["columns"]
    assert isinstance(found, dict)
    return found


def test_a_draft_reads_a_figure_with_the_unit_beside_it(tmp_path: Path) -> None:
    log = "No,Torque,Unit,Depth,Einheit\n1,55,Nm,3.5,in\n2,40,ft-lb,3.6,in\n"
    found = drafted(tmp_path, log)
    assert found["setting_torque_nm"] == {"from": ["Torque", "Unit"]}
    assert found["hole_depth_mm"] == {"from": ["Depth", "Einheit"]}
    assert draft_of(tmp_path / "log.csv").unplaced == ()


@pytest.mark.parametrize(
    "log",
    [
        # The name has a unit, a cell has, and what stands beside are no units.
        "No,Torque (Nm),Unit\n1,55,Nm\n2,54,Nm\n",
        "No,Torque,Unit\n1,55 Nm,Nm\n2,54,Nm\n",
        "No,Torque,Unit\n1,55,A4\n2,54,A5\n",
        "No,Torque,Status\n1,55,Nm\n2,54,Nm\n",
    ],
)
def test_a_draft_leaves_what_is_no_unit_of_it(tmp_path: Path, log: str) -> None:
    drafted(tmp_path, log)
    assert draft_of(tmp_path / "log.csv").header.unit_beside == {}
