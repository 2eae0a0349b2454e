"""Drafting a column's unit: by its header, its figures, or what its cells say."""

from pathlib import Path

import pytest

from etl.draft.draft import draft_of
from etl.draft.write import toml_of
from tests.etl.test_draft import write_csv


# A torque of 40 beside lengths in inches is seldom newton metres (traps: ft·lbf typed
# as Nm); fractions are written of inches only (common practice, no source).
def test_units_that_no_header_names(tmp_path: Path) -> None:
    draft = draft_of(
        write_csv(
            tmp_path,
            ["Torque", "40", "41"],
            ["Anchor length", "5 1/4", "6 1/4"],
            ["Concrete (psi)", "4350", "5080"],
        )
    )
    units = {
        one.column.name: (one.said.value, one.said.sureness) for one in draft.placed
    }
    assert units["anchor_length_mm"] == ("in", "likely")
    assert units["concrete_mpa"] == ("psi", "sure")
    assert units["setting_torque_nm"][1] == "guess"
    assert '#   which unit is "Torque" in? It may be Nm, ft·lbf' in toml_of(draft)


def test_units_written_in_the_cells(tmp_path: Path) -> None:
    draft = draft_of(
        write_csv(tmp_path, ["Tiefe", "9,2 cm", "9,4cm"], ["Ort", "A", "B"])
    )
    [depth] = [one for one in draft.placed if one.column.name == "hole_depth_mm"]
    assert (depth.said.value, depth.said.is_active) == ("cm", True)


# 110 ft·lbf are 149 Nm: which unit the bare ones are in is for the site to say.
@pytest.mark.parametrize(
    ("header", "cells", "expected"),
    [
        ("Torque", ["110", "110nm", "80ftlb"], ("Nm", "guess")),
        ("Torque [Nm]", ["110", "110nm", "80ftlb"], ("Nm", "sure")),
        # Each says its own; a slip of the pen is no second unit.
        ("Torque", ["110nm", "110nm", "80ftlb"], ("Nm", "sure")),
        ("Torque", ["110", *["110nm"] * 18, "80ftlb"], ("Nm", "sure")),
    ],
)
def test_cells_of_several_units_and_of_none(
    tmp_path: Path, header: str, cells: list[str], expected: tuple[str, str]
) -> None:
    crews = ["Crew", *["A"] * len(cells)]
    draft = draft_of(write_csv(tmp_path, [header, *cells], crews))
    [torque] = [one for one in draft.placed if one.column.name == "setting_torque_nm"]
    assert (torque.said.value, torque.said.sureness) == expected
    if expected[1] == "guess":
        assert "its cells say Nm and ft·lbf; some say no unit" in torque.said.reason


# A group over "Edge" and "Spacing" says the unit of both; none of who set the anchor.
def test_a_group_names_the_unit_of_its_figures(tmp_path: Path) -> None:
    draft = draft_of(
        write_csv(
            tmp_path,
            ["", "No", "1", "2"],
            ["Distances (cm)", "Edge", "12", "13.5"],
            ["", "Spacing", "18", "18"],
            ["Setting (ft-lb)", "Torque", "40", "41"],
            ["", "Wrench", "W-1", "W-2"],
            ["Hole (mm)", "Depth", "92", "93"],
            ["", "Plate thickness [cm]", "1.0", "1.2"],
        )
    )
    units = {one.column.name: one.said.value for one in draft.active}
    assert units == {
        "record_id": None,
        "edge_1_mm": "cm",
        "spacing_mm": "cm",
        "setting_torque_nm": "ft·lbf",
        "wrench_code": None,
        "hole_depth_mm": "mm",
        "fixture_thickness_mm": "cm",
    }
