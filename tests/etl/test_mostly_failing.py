"""A file of whose rows nearly all fail a check raises a question. Counted by hand."""

from collections.abc import Sequence
from pathlib import Path

import pytest

from etl.draft.draft import draft_of
from tests.builders import Row, build_store, load, write_csv, write_log


def remarks(tmp_path: Path, rows: Sequence[Row]) -> list[str]:
    store = build_store(tmp_path)
    log = write_log(tmp_path / "sent", rows)
    return load(store, log, log.with_suffix(".toml")).receipts[0].remarks


@pytest.mark.parametrize(
    ("failing", "conforming", "blank", "is_asked"),
    [
        (20, 0, 0, True),
        (19, 0, 5, False),  # Too few were judged.
        (18, 2, 0, True),
        (17, 2, 1, False),  # Nineteen were judged.
        (18, 2, 9, True),
        (26, 4, 0, False),  # Under nine in ten.
    ],
)
def test_nearly_all_failing_is_asked_about(
    tmp_path: Path, failing: int, conforming: int, blank: int, is_asked: bool
) -> None:
    rows = [
        {"hole_depth_mm": depth}
        for depth in ["80"] * failing + ["92"] * conforming + [""] * blank
    ]
    asked = [one for one in remarks(tmp_path, rows) if one.startswith("hole_depth: ")]
    assert len(asked) == is_asked
    if is_asked:
        judged = failing + conforming
        assert f"{failing} of {judged} judged rows are nonconforming" in asked[0]
        assert 'its columns ("hole_depth_mm") hold' in asked[0]


def test_only_the_file_s_own_rows_count(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    for name, depth, count in (("june", "92", 0), ("may", "80", 1)):
        rows = [{"record_id": f"{name}{n}", "hole_depth_mm": depth} for n in range(20)]
        log = write_log(tmp_path / name, rows, name=name)
        [receipt] = load(store, log, log.with_suffix(".toml")).receipts
        assert len(receipt.remarks) == count


def test_what_a_unit_explains_is_asked_once(tmp_path: Path) -> None:
    [asked] = remarks(tmp_path, [{"hole_depth_mm": "9.2"}] * 20)
    assert "as if cm had been typed as mm" in asked


def test_sizes_stamped_on_bits_are_told(tmp_path: Path) -> None:
    # A sound bit of 12 mm cuts 12.1 to 12.5 mm (queries/drill_bit_band.sql).
    [asked] = remarks(tmp_path, [{"bit_diameter_mm": "12"}] * 20)
    assert asked.startswith("drill_bit: 20 of 20 judged rows")
    assert "stamped on a bit is less than what its edges measure" in asked
    assert remarks(tmp_path / "sound", [{"bit_diameter_mm": "12.3"}] * 20) == []


@pytest.mark.parametrize(
    ("sizes", "is_active"),
    [
        (("12", "16", "10"), False),
        (('1/2"', '5/8"', '3/4"'), False),
        (("12.3", "16.4", "10.2"), True),
    ],
)
def test_a_draft_asks_whether_whole_sizes_were_measured(
    tmp_path: Path, sizes: Sequence[str], is_active: bool
) -> None:
    rows = [{"Crew": "A", "Bit diameter": size} for size in sizes]
    [bit] = [
        one
        for one in draft_of(write_csv(tmp_path / "log.csv", rows)).placed
        if one.column.name == "bit_diameter_mm"
    ]
    assert bit.said.is_active == is_active
    assert ("stamped" in bit.said.reason) != is_active
