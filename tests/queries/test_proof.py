"""Each proof finds the fault it is for, and nothing in a store that is whole."""

from collections.abc import Iterator
from pathlib import Path

import duckdb
import pytest

from etl.ledger import open_ledger
from etl.publish import seal_edition
from queries.errors import FirmsetError
from queries.proof import FOLDER, PROOF_NAMES, all_proofs, read_faults
from queries.store import Store
from tests.builders import NOW, build_store, load, write_log


@pytest.fixture
def store(tmp_path: Path) -> Store:
    """Return a store with a revision, a duplicate, a conflict and a rejected row."""
    store = build_store(
        tmp_path,
        [{"record_id": "A"}, {"record_id": "B", "note": "full"}, {"crew_code": ""}],
    )
    rows = [
        {"record_id": "A", "revision": "1"},
        {"record_id": "B", "note": "full"},
        {"record_id": "B"},
    ]
    load(store, write_log(tmp_path / "b", rows, name="second"))
    return store


@pytest.fixture
def ledger(store: Store) -> Iterator[duckdb.DuckDBPyConnection]:
    with open_ledger(store) as con:
        yield con


def wrong(con: duckdb.DuckDBPyConnection) -> set[str]:
    titles = set(read_faults(con, all_proofs())["proof"])
    return {proof.name for proof in all_proofs() if proof.title in titles}


def test_a_whole_store_has_no_faults(ledger: duckdb.DuckDBPyConnection) -> None:
    assert wrong(ledger) == set()


def test_every_file_is_a_proof() -> None:
    assert sorted(path.stem for path in FOLDER.glob("*.sql")) == sorted(PROOF_NAMES)


# What is spoiled by hand, and the proofs that must see it.
@pytest.mark.parametrize(
    ("damage", "proofs"),
    [
        (
            (
                "update source_file set loaded = loaded + 1, rejected = rejected - 1 "
                "where rejected > 0"
            ),
            {"receipt_rows"},
        ),
        (
            (
                "update source_file set loaded = loaded + 1, revised = revised - 1 "
                "where revised > 0"
            ),
            {"loaded_or_revised"},
        ),
        (
            "delete from rejected_row where reason_code = 'no_crew_code'",
            {"receipt_rows"},
        ),
        ("delete from repeated_row", {"receipt_rows"}),
        ("delete from conflicting_installation", {"conflict_rejected"}),
        (
            (
                "update rejected_row set reason_code = 'other' "
                "where reason_code = 'conflict'"
            ),
            {"conflict_rejected"},
        ),
        (
            "update tally set installations = installations + 1",
            {"tally_total", "tally_rebuilt", "tally_month_rebuilt"},
        ),
        (
            "update tally set setting_torque_judged = 7",
            {"tally_rebuilt", "tally_month_rebuilt"},
        ),
        (
            "update tally set crew_code = 'OTHER'",
            {"tally_rebuilt", "tally_month_rebuilt"},
        ),
        (
            "update tally_month set hole_depth_judged = hole_depth_judged - 1",
            {"tally_month_rebuilt"},
        ),
        ("delete from tally_month", {"tally_month_rebuilt"}),
        (
            "update installation set nonconforming_mask = 1",
            {"verdicts_recomputed", "tally_rebuilt"},
        ),
        (
            "update setting_data set setting_torque_nm = 80",
            {"verdicts_recomputed"},
        ),
        ("update installation set revision = 0 where revision = 1", {"record_once"}),
        ("delete from code_spelling", {"known_code"}),
        ("delete from site", {"known_code"}),
        (
            (
                "update superseded_installation "
                "set record_hash = xor(record_hash, 1::uinteger)"
            ),
            {"record_hash"},
        ),
        (
            "update source_file set unloaded_at = loaded_at where rejected > 0",
            {"receipt_rows", "file_of_row", "conflict_rejected"},
        ),
    ],
)
def test_damage_is_found(
    ledger: duckdb.DuckDBPyConnection, damage: str, proofs: set[str]
) -> None:
    ledger.execute(damage)
    assert wrong(ledger) == proofs


def test_a_ledger_that_does_not_add_up_is_not_published(
    ledger: duckdb.DuckDBPyConnection, store: Store
) -> None:
    before = store.current_edition_id()
    ledger.execute("delete from repeated_row")
    with pytest.raises(FirmsetError, match="does not add up, so nothing was published"):
        seal_edition(ledger, store, NOW, reason="load")
    assert store.current_edition_id() == before
    assert ledger.execute("select max(edition_id) from edition").fetchall() == [
        (before,)
    ]
