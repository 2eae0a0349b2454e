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
        # One cell says nothing of the others, unless in the unit they are taken for.
        ("Edge", ["50", "60", "15 cm", "70"], ("mm", "guess")),
        ("Edge", ["50", "60", "50 cm", "70"], ("mm", "guess")),
        ("Edge", ["50", "60", "65 mm", "70"], ("mm", "likely")),
        ("Torque", ["55", "53", "5.5 daNm", "56"], ("Nm", "guess")),
        ("Torque", ["5.5", "5.3", "55 Nm", "5.6"], ("Nm", "guess")),
        # Most say it; of what is far from them it is asked.
        ("Edge", ["15 cm", "12 cm", "9"], ("cm", "likely")),
        ("Edge", ["15 cm", "12 cm", "90"], ("mm", "guess")),
        ("Edge (cm)", ["15", "12", "90 mm"], ("cm", "sure")),
    ],
)
def test_cells_of_several_units_and_of_none(
    tmp_path: Path, header: str, cells: list[str], expected: tuple[str, str]
) -> None:
    crews = ["Crew", *["A"] * len(cells)]
    draft = draft_of(write_csv(tmp_path, [header, *cells], crews))
    [figure] = [one for one in draft.placed if one.header == header]
    assert (figure.said.value, figure.said.sureness) == expected
    if expected[1] == "guess":
        assert "the others nothing: which is theirs?" in figure.said.reason


def test_it_is_said_how_many_cells_name_a_unit(tmp_path: Path) -> None:
    """As 15 cm among 39 bare edges in millimetres, which would be 400 to 1200 mm."""
    cells = ["15 cm", *["40", "50", "120"] * 13]
    draft = draft_of(
        write_csv(tmp_path, ["Edge", *cells], ["Crew", *["A"] * len(cells)])
    )
    text = toml_of(draft)
    assert '# edge_1_mm = "Edge"  # guess: 1 of 40 figures says cm, the others' in text
    assert '#   which unit is "Edge" in? It may be cm, mm' in text


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
