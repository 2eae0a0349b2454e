"""Files in any order, and any number of times, give the same ledger."""

from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import given, settings
from hypothesis import strategies as st

from queries.proof import all_proofs, read_faults
from queries.store import Store
from tests.builders import Row, build_store, load, write_log
from tests.ledger import Content, ledger_content

# Few records, revisions and values, so that files speak of the same ones: revisions up
# and down, repeats, conflicts, gaps, spellings of one crew, changed dates.
rows = st.fixed_dictionaries(
    {
        "record_id": st.sampled_from(["A", "B", "C"]),
        "revision": st.sampled_from(["", "0", "1", "2"]),
        "setting_torque_nm": st.sampled_from(["", "30", "55", "much"]),
        "crew_code": st.sampled_from(["C-07", "c7", "C 07", "D", ""]),
        "installed_on": st.sampled_from(["2026-05-04", "2026-05-11"]),
        "edge_1_mm": st.sampled_from(["120", "clear"]),
    }
)
files = st.lists(st.lists(rows, min_size=1, max_size=4), min_size=2, max_size=4)


def loaded(folder: Path, logs: list[list[Row]], order: list[int]) -> Content:
    store: Store = build_store(folder)
    paths = [
        write_log(folder / "in", log, name=f"log{number}")
        for number, log in enumerate(logs)
    ]
    for number in order:
        load(store, paths[number])
    with store.reader() as con:
        assert read_faults(con, all_proofs()).is_empty()
        counts = con.execute(
            "select sum(rows_read)::bigint, sum(rejected)::bigint from source_file "
            "where content = 'installations'"
        ).fetchall()
    return ledger_content(store) | {"counts": counts}


@given(files, st.data())
@settings(max_examples=3, deadline=None, derandomize=True)
def test_any_order_any_number_of_times(
    logs: list[list[Row]], data: st.DataObject
) -> None:
    numbers = list(range(len(logs)))
    order = data.draw(st.permutations(numbers))
    again = data.draw(st.lists(st.sampled_from(numbers), max_size=2))
    with TemporaryDirectory() as name:
        folder = Path(name)
        straight = loaded(folder / "a", logs, numbers)
        assert loaded(folder / "b", logs, [*order, *again]) == straight
