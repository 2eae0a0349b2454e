"""Files in any order, any number of times, taken back or not, give the same ledger."""

from collections.abc import Sequence
from itertools import permutations
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etl.unload import unload
from queries.judgement import JUDGED_NAMES
from queries.proof import all_proofs, read_faults
from queries.store import Store
from tests.builders import NOW, Row, build_store, load, write_csv, write_log
from tests.examples import examples
from tests.ledger import Content, ledger_content

# Few records, revisions and values, so that files speak of the same ones: revisions up
# and down, repeats, conflicts, gaps, spellings of one crew, changed dates, a wrench
# before and after its calibration ran out.
rows = st.fixed_dictionaries(
    {
        "record_id": st.sampled_from(["A", "B", "C"]),
        "revision": st.sampled_from(["", "0", "1", "2", "x"]),
        "setting_torque_nm": st.sampled_from(["", "30", "55", "much"]),
        "crew_code": st.sampled_from(["C-2", "c2", "C\u00a002", "C1", ""]),
        "installed_on": st.sampled_from(["2026-05-04", "2026-05-11"]),
        "edge_1_mm": st.sampled_from(["120", "clear"]),
        "wrench_code": st.sampled_from(["", "W1"]),
    }
)
files = st.lists(st.lists(rows, min_size=1, max_size=4), min_size=2, max_size=4)
CALIBRATION = {
    "wrench_code": "W1",
    "calibrated_on": "2025-05-08",
    "range_low_nm": "20",
    "range_high_nm": "120",
}
SHEET = -1


def loaded(
    folder: Path,
    logs: list[list[Row]],
    order: Sequence[int],
    taken_back: Sequence[int] = (),
) -> Content:
    """Load files by their numbers, SHEET the calibrations, then take some back."""
    store: Store = build_store(folder)
    paths = {
        number: write_log(folder / "in", log, name=f"log{number}")
        for number, log in enumerate(logs)
    }
    sheets = folder / "sheets"
    sheets.mkdir()
    paths[SHEET] = write_csv(sheets / "wrench_calibrations.csv", [CALIBRATION])
    receipts = {}
    for number in order:
        [receipt] = load(store, paths[number]).receipts
        receipts[number] = receipt.source_file_id
    for number in taken_back:
        unload(store, receipts[number], now=NOW)
    with store.reader() as con:
        assert read_faults(con, all_proofs()).to_dicts() == []
        counts = con.execute(
            "select sum(rows_read)::bigint, sum(rejected)::bigint from source_file "
            "where content = 'installations' and unloaded_at is null"
        ).fetchall()
    found = ledger_content(store) | {"counts": counts}
    # A superseded revision keeps the verdicts it had, until it counts again.
    found["superseded"] = [row[: -len(JUDGED_NAMES)] for row in found["superseded"]]
    return found


@given(files, st.data())
@settings(**examples(3))
def test_any_order_any_number_of_times(
    logs: list[list[Row]], data: st.DataObject
) -> None:
    numbers = [SHEET, *range(len(logs))]
    order = data.draw(st.permutations(numbers))
    again = data.draw(st.lists(st.sampled_from(numbers), max_size=2))
    with TemporaryDirectory() as name:
        folder = Path(name)
        straight = loaded(folder / "a", logs, numbers)
        assert loaded(folder / "b", logs, [*order, *again]) == straight


# What is taken back is as if it had never come, whatever came before and after it.
@given(files, st.data())
@settings(**examples(3))
def test_what_is_taken_back_never_came(
    logs: list[list[Row]], data: st.DataObject
) -> None:
    numbers = [SHEET, *range(len(logs))]
    order = data.draw(st.permutations(numbers))
    back = data.draw(
        st.lists(
            st.sampled_from(numbers[:-1]), unique=True, min_size=1, max_size=len(logs)
        )
    )
    left = [number for number in order if number not in back]
    with TemporaryDirectory() as name:
        folder = Path(name)
        straight = loaded(folder / "a", logs, left)
        assert loaded(folder / "b", logs, order, back) == straight


A: Row = {"record_id": "R1", "crew_code": "C1", "setting_torque_nm": "55"}
B: Row = A | {"crew_code": "C2", "setting_torque_nm": "40"}
# A longer spelling of C2 is the one that is kept, and as a text comes before C1.
C: Row = {"record_id": "R9", "crew_code": "C-2"}
D: Row = {"record_id": "R8", "crew_code": "C1"}


@pytest.mark.parametrize("order", list(permutations(range(4))))
def test_a_spelling_that_comes_later_turns_no_conflict_round(
    tmp_path: Path, order: Sequence[int]
) -> None:
    """One revision with two contents, as full as each other, in files of one site."""
    logs = [[A], [B], [C], [A, D]]
    found = loaded(tmp_path / "given", logs, order)
    assert found == loaded(tmp_path / "anew", logs, range(4))


def test_taken_back_a_spelling_leaves_conflicts_as_they_were(tmp_path: Path) -> None:
    logs = [[A], [B], [C]]
    found = loaded(tmp_path / "given", logs, (2, 0, 1), taken_back=[2])
    without = loaded(tmp_path / "anew", logs, (0, 1))
    assert found["installation"] == without["installation"]
