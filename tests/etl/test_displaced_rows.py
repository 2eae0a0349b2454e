"""A row that was taken and then displaced can be made right, or given up."""

from pathlib import Path

import pytest

from queries.columns import LOGGED_NAMES
from queries.readers.intake import read_rejects
from queries.store import Store
from tests.builders import Row, build_store, load, write_log
from tests.etl.correcting import Rows, given_back, open_rejects, sent_again

# Values of every kind, as the site writes them: centimetres, a local time, a word.
FIRST: Row = {
    "record_id": "=A",
    "edge_1_mm": "clear",
    "hole_depth_mm": "9.2",
    "installed_at": "2026-05-04 07:45",
    "bit_worn": "yes",
    "outcome": "replaced",
    "note": "-5",
}
UNITS = {"hole_depth_mm": "cm"}


@pytest.fixture
def store(tmp_path: Path) -> Store:
    """A store whose first row is displaced by one that knows the bit too."""
    store = build_store(tmp_path)
    load(store, write_log(tmp_path / "a", [FIRST], units=UNITS, name="a"))
    fuller = FIRST | {"bit_code": "B1", "hole_depth_mm": "9.4"}
    load(store, write_log(tmp_path / "b", [fuller], units=UNITS, name="b"))
    with store.reader() as con:
        assert read_rejects(con)["reason_code"].to_list() == ["displaced"]
    return store


def held(store: Store, table: str) -> list[tuple[object, ...]]:
    names = ", ".join(name for name in LOGGED_NAMES if name != "revision")
    with store.reader() as con:
        return con.execute(
            f"select {names} from {table} where record_id = '=A'"
        ).fetchall()


def test_it_comes_back_as_it_is_held_and_a_revision_makes_it_right(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    [row] = given_back(store, capsys)
    assert row["firmset hole_depth_mm"] == "92.0"
    displaced = held(store, "conflicting_installation")
    mended = [row | {"firmset revision": "1"}]
    [receipt] = sent_again(store, tmp_path / "mended.csv", mended).receipts
    assert (receipt.revised, receipt.rejected) == (1, 0)
    assert held(store, "installation") == displaced
    assert open_rejects(store) == []


@pytest.mark.parametrize(
    ("changes", "left"),
    [
        # What counts is right: it says the same.
        ({"firmset bit_code": "B1", "firmset hole_depth_mm": "94"}, []),
        # Not touched: it is in conflict, and open once.
        ({}, [("mended.csv [as held, SITE-1]", 2)]),
    ],
)
def test_it_is_given_up_or_stays_open_once(
    store: Store,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    changes: dict[str, str],
    left: list[tuple[str, int]],
) -> None:
    [row] = given_back(store, capsys)
    sent_again(
        store, tmp_path / "mended.csv", [{**row, "firmset bit_code": ""} | changes]
    )
    assert open_rejects(store) == left
    again: Rows = given_back(store, capsys)
    if again:
        mended = [again[0] | {"firmset revision": "1"}]
        [receipt] = sent_again(store, tmp_path / "m.csv", mended).receipts
        assert (receipt.revised, receipt.rejected) == (1, 0)
        assert open_rejects(store) == []


def test_it_comes_back_beside_rows_of_logs(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each is read in its own way, though one file has both."""
    load(store, write_log(tmp_path / "c", [{"record_id": "C", "crew_code": ""}]))
    rows = given_back(store, capsys)
    assert [row["record_id"] for row in rows] == ["", "C"]
    mended = [rows[0] | {"firmset revision": "1"}, rows[1] | {"crew_code": "CREW-1"}]
    sent_again(store, tmp_path / "mended.csv", mended)
    assert open_rejects(store) == []
    with store.reader() as con:
        depths = con.execute(
            "select record_id, hole_depth_mm from installation "
            "where record_id in ('=A', 'C') order by record_id"
        ).fetchall()
    assert depths == [("=A", 92.0), ("C", 92.0)]
