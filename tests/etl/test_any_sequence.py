"""Lists, mended rows and files taken back, in any order: nothing is lost on the way.

Against what the raw rows themselves say: an anchor's highest revision counts, and one
that could not be taken is asked for until a row as high is held.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from etl.unload import unload
from queries.readers.corrections import read_corrections
from queries.readers.intake import read_rejects
from queries.store import Store
from tests.builders import Row, build_store, load, write_log
from tests.etl.correcting import sent_again
from tests.examples import examples
from tests.ledger import ledger_content

CREW = "CREW-1"
rows = st.fixed_dictionaries(
    {
        "record_id": st.just("R1"),
        "revision": st.sampled_from(["0", "1"]),
        "setting_torque_nm": st.sampled_from(["50", "50", "50", "52"]),
        "crew_code": st.sampled_from([CREW, ""]),
    }
)


@dataclass(frozen=True)
class Listed:
    """A list of rows is sent."""

    rows: Sequence[Row]


@dataclass(frozen=True)
class Mended:
    """Of the rows without a crew, the one at `at` is sent again with it."""

    at: int


@dataclass(frozen=True)
class TakenBack:
    """Of the files that stand, the one at `at` is taken back."""

    at: int


Step = Listed | Mended | TakenBack
steps = st.lists(
    st.one_of(
        st.lists(rows, min_size=1, max_size=2).map(Listed),
        st.integers(0, 9).map(Mended),
        st.integers(0, 9).map(TakenBack),
    ),
    min_size=4,
    max_size=7,
)


def _row(revision: str, crew: str = CREW, torque: str = "50") -> Row:
    return {
        "record_id": "R1",
        "revision": revision,
        "setting_torque_nm": torque,
        "crew_code": crew,
    }


@settings(**examples(12))
@given(steps=steps)
# Once lost: an older entry repeated, and a mended row that conflicted.
@example(steps=[Listed([_row("0")]), Listed([_row("1", "")]), Listed([_row("0")])])
@example(
    steps=[
        Listed([_row("0")]),
        Listed([_row("0", "", "52")]),
        Mended(0),
        Listed([_row("0", "", "52")]),
        Mended(0),
        TakenBack(1),
    ]
)
def test_what_a_site_said_is_held_or_asked_for(
    tmp_path_factory: pytest.TempPathFactory, steps: list[Step]
) -> None:
    folder = tmp_path_factory.mktemp("steps")
    store = build_store(folder)
    begun = ledger_content(store)
    # Of each file that stands: revision and crew of every record that it names.
    standing: dict[int, list[Row]] = {}
    for number, step in enumerate(steps):
        _take(store, folder / str(number), step, standing)
        _require_kept(store, [row for file in standing.values() for row in file])
    for file_id in list(standing):
        unload(store, file_id)
    assert ledger_content(store) | {"site": begun["site"]} == begun


def _take(
    store: Store, folder: Path, step: Step, standing: dict[int, list[Row]]
) -> None:
    folder.mkdir()
    if isinstance(step, TakenBack):
        if standing:
            file_id = sorted(standing)[step.at % len(standing)]
            unload(store, file_id)
            del standing[file_id]
        return
    if isinstance(step, Listed):
        sent = list(step.rows)
        # Of other bytes than any file before it, which would be the same file.
        result = load(store, write_log(folder, [*sent, {"record_id": folder.name}]))
    else:
        with store.reader() as con:
            given_back = read_corrections(con).to_dicts()
        asked = [row for row in given_back if row["record_id"] and not row["crew_code"]]
        if not asked:
            return
        sent = [asked[step.at % len(asked)] | {"crew_code": CREW}]
        result = sent_again(store, folder / f"m{folder.name}.csv", sent)
    assert result.failures == ()
    [receipt] = result.receipts
    if receipt.is_new:
        standing[receipt.source_file_id] = sent


def _require_kept(store: Store, said: Sequence[Row]) -> None:
    """Require that of each record the highest revision is held, or asked for."""
    with store.reader() as con:
        held = dict(
            con.execute("select record_id, revision from installation").fetchall()
        )
        open_rows = read_rejects(con)
    asked = set(open_rows["record_id"])
    for record in {str(row["record_id"]) for row in said}:
        of_record = [row for row in said if row["record_id"] == record]
        whole = [int(str(row["revision"])) for row in of_record if row["crew_code"]]
        every = [int(str(row["revision"])) for row in of_record]
        assert held.get(record) == max(whole, default=None)
        if max(every) > max(whole, default=-1):
            assert record in asked
