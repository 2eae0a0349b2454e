"""Rejected rows of sheets that a later sheet answers."""

from pathlib import Path

import pytest

from queries.readers.intake import read_rejects
from queries.store import Store
from tests.builders import Row, build_store, load, write_csv

BITS: list[Row] = [
    {"bit_code": code, "nominal_diameter_mm": size}
    for code, size in (("B1", "12"), ("B2", "14"), ("B3", "twelve"))
]


def open_rows(store: Store) -> list[tuple[str, int, str | None]]:
    with store.reader() as con:
        rejects = read_rejects(con)
    return list(rejects.select("file_name", "source_row", "record_id").iter_rows())


@pytest.fixture
def store(tmp_path: Path) -> Store:
    """A store with a sheet of bits whose third row was rejected."""
    store = build_store(tmp_path)
    load(store, write_csv(tmp_path / "bits.csv", BITS))
    assert open_rows(store) == [("bits.csv", 4, "B3")]
    return store


# Whatever its name: the row is known by its key, in small letters too.
def test_a_row_of_the_same_key_answers_it(store: Store, tmp_path: Path) -> None:
    mended: Row = {"bit_code": "b3", "nominal_diameter_mm": "12"}
    load(store, write_csv(tmp_path / "bits_3.csv", [mended]))
    assert open_rows(store) == []


def test_a_row_that_comes_again_is_open_once_where_it_came_last(
    store: Store, tmp_path: Path
) -> None:
    new: Row = {"bit_code": "B4", "nominal_diameter_mm": "16"}
    load(store, write_csv(tmp_path / "bits_4.csv", [BITS[2], new]))
    assert open_rows(store) == [("bits_4.csv", 2, "B3")]


TRAININGS: list[Row] = [
    {"crew_code": "C1", "topic": "setting_torque", "trained_on": day}
    for day in ("2026-01-19", "32.05.2026")
]


@pytest.mark.parametrize(
    ("name", "kept", "left"),
    [
        # The file once more, with all that it had.
        ("trainings.csv", TRAININGS[:1], 0),
        # Another file of the name, of another site, and another name.
        ("trainings.csv", [], 1),
        ("trainings_2.csv", TRAININGS[:1], 1),
    ],
)
def test_a_row_whose_key_cannot_be_read_goes_with_its_file(
    tmp_path: Path, name: str, kept: list[Row], left: int
) -> None:
    store = build_store(tmp_path)
    load(store, write_csv(tmp_path / "trainings.csv", TRAININGS))
    assert open_rows(store) == [("trainings.csv", 3, None)]
    mended: Row = {"crew_code": "C2", "topic": "setting_torque"}
    rows = [*kept, mended | {"trained_on": "2026-05-31"}]
    (tmp_path / "again").mkdir()
    load(store, write_csv(tmp_path / "again" / name, rows))
    assert len(open_rows(store)) == left
