"""Each proof finds the fault it is for, and nothing in a store that is whole."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import duckdb
import pytest

from etl.ledger import open_ledger
from etl.publish import seal_edition
from queries.errors import FirmsetError
from queries.proof import FOLDER, PROOF_NAMES, all_proofs, read_faults
from queries.store import Store
from queries.tally import count_columns
from tests.builders import NOW, build_store, load, write_log


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """A store with a revision, a duplicate, a conflict and a rejected row."""
    folder = tmp_path_factory.mktemp("proof")
    store = build_store(
        folder,
        [{"record_id": "A"}, {"record_id": "B", "note": "full"}, {"crew_code": ""}],
    )
    rows = [
        {
            "record_id": "A",
            "revision": "1",
            "installed_on": "2026-05-04",
            "installed_at": "2026-05-04T08:00",
        },
        {"record_id": "B", "note": "full"},
        {"record_id": "B"},
    ]
    load(store, write_log(folder / "b", rows, name="second"))
    return store


@pytest.fixture
def store(built: Store, tmp_path: Path) -> Store:
    """A copy of it, to be spoiled."""
    shutil.copytree(built.folder, tmp_path / "store")
    return Store(tmp_path / "store")


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
            {"tally_rebuilt", "tally_month_rebuilt", "batch_of_rows"},
        ),
        (
            "update tally_month set hole_depth_judged = hole_depth_judged - 1",
            {"tally_month_rebuilt"},
        ),
        ("delete from tally_month", {"tally_month_rebuilt"}),
        ("update batch_tally set torques = torques + 1", {"batch_rebuilt"}),
        ("update batch_tally set on_step = list_reverse(on_step)", {"batch_rebuilt"}),
        ("update batch_tally set place_mean = place_mean + 1e-6", {"batch_rebuilt"}),
        ("delete from batch_tally", {"batch_rebuilt"}),
        (
            "update batch_tally set crew_code = 'OTHER'",
            {"batch_rebuilt", "batch_of_rows"},
        ),
        ("update batch_time_tally set may_pace = 9", {"batch_time_rebuilt"}),
        ("delete from batch_time_tally", {"batch_time_rebuilt"}),
        (
            "update batch_time_tally set installed_on = '2020-01-01'",
            {"batch_time_rebuilt", "batch_of_rows"},
        ),
        (
            "insert into stale_batch values ('SITE-1', 'A', '2026-05-04')",
            {"batch_waiting"},
        ),
        (
            "update installation set nonconforming_mask = 1",
            {"verdicts_recomputed", "tally_rebuilt"},
        ),
        (
            "update setting_data set setting_torque_nm = 80",
            {"verdicts_recomputed", "batch_rebuilt"},
        ),
        ("update installation set cone_ratio = 0.5", {"cone_ratio"}),
        ("update installation set cone_ratio = null", {"cone_ratio"}),
        # The derived embedment grows along; the edge is nearer than 1.5 of it now.
        ("update setting_data set embedment_mm = 90", {"cone_ratio"}),
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


# The default anchor is set to 55 Nm of 49.5 to 60.5, and A's revision is one of B's
# fellows: two rows count. 32 is the bit of setting torque, the sixth check.
@pytest.mark.parametrize(
    ("damage", "found", "expected"),
    [
        (
            (
                "update installation set conforming_mask = conforming_mask - 32, "
                "unrecorded_mask = unrecorded_mask + 32 where record_id = 'A'"
            ),
            "setting torque unrecorded",
            "setting torque conforming",
        ),
        (
            (
                "update installation set nonconforming_mask = nonconforming_mask + 32 "
                "where record_id = 'A'"
            ),
            "setting torque conforming and nonconforming",
            "setting torque conforming",
        ),
        (
            (
                "update installation set conforming_mask = conforming_mask - 32 "
                "where record_id = 'A'"
            ),
            "setting torque inapplicable",
            "setting torque conforming",
        ),
    ],
)
def test_a_wrong_verdict_is_named(
    ledger: duckdb.DuckDBPyConnection, damage: str, found: str, expected: str
) -> None:
    ledger.execute(damage)
    [proof] = [one for one in all_proofs() if one.name == "verdicts_recomputed"]
    [fault] = read_faults(ledger, (proof,)).to_dicts()
    assert fault["subject"] == "SITE-1 record A"
    assert (fault["found"], fault["expected"]) == (found, expected)


def test_a_wrong_count_is_named_with_its_cell(
    ledger: duckdb.DuckDBPyConnection,
) -> None:
    ledger.execute("update tally set setting_torque_nonconforming = 7")
    [proof] = [one for one in all_proofs() if one.name == "tally_rebuilt"]
    [fault] = read_faults(ledger, (proof,)).to_dicts()
    assert "SITE-1" in fault["subject"] and "2026-05-04" in fault["subject"]
    assert fault["found"] == "setting torque nonconforming 7"
    assert fault["expected"] == "setting torque nonconforming 0"


def test_a_split_row_of_the_tally_is_said_to_be(
    ledger: duckdb.DuckDBPyConnection,
) -> None:
    ledger.execute("insert into tally by name from tally")
    [proof] = [one for one in all_proofs() if one.name == "tally_rebuilt"]
    [fault] = read_faults(ledger, (proof,)).to_dicts()
    assert "installations 2" in fault["found"]
    assert "installations 0" in fault["expected"]


# The sums are right: one anchor stands in a row of its own beside the others.
def test_counts_that_stand_in_other_rows_are_said_to(
    ledger: duckdb.DuckDBPyConnection,
) -> None:
    noughts = ", ".join(f"0 as {name}" for name in count_columns()[1:])
    ledger.execute(
        f"insert into tally by name select * replace (1 as installations, {noughts}) "
        "from tally"
    )
    ledger.execute(
        "update tally set installations = installations - 1 where installations > 1"
    )
    [proof] = [one for one in all_proofs() if one.name == "tally_rebuilt"]
    [fault] = read_faults(ledger, (proof,)).to_dicts()
    assert fault["found"] == fault["expected"] == "the same counts in other rows"


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
