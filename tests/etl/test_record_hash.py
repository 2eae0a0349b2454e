"""A record is found by its number's hash, and told from others by the number itself."""

from pathlib import Path

import duckdb
import pytest

from etl.ledger import open_ledger
from etl.publish import publish_edition, seal_edition
from queries.proof import all_proofs, read_faults
from queries.readers.record_search import RecordSearch, read_day_counts
from queries.readers.records import read_record
from queries.record_hash import record_hash_sql
from queries.store import Store
from tests.builders import NOW, build_store, load, write_log


@pytest.fixture(scope="module")
def one_hash() -> tuple[str, str]:
    """Return two record numbers that share a hash, found by trying.

    400,000 numbers make some 19 pairs: n²/2 of 2³².
    """
    [(one, other)] = (
        duckdb.connect()
        .execute(
            f"""
        select min(record_id), max(record_id)
        from (select 'R-' || number as record_id from range(400000) as r (number))
        group by {record_hash_sql("record_id")}
        having count(*) > 1
        order by 1
        limit 1
        """
        )
        .fetchall()
    )
    assert one != other
    return str(one), str(other)


def fates(store: Store, path: Path) -> tuple[int, int, int]:
    [receipt] = load(store, path).receipts
    return receipt.loaded, receipt.revised, receipt.duplicate


def found(store: Store, record_id: str) -> int:
    with store.reader() as con:
        counted = read_day_counts(con, RecordSearch(verdict=None, record_id=record_id))
        assert (read_record(con, "SITE-1", record_id) is None) == (counted.total == 0)
        return counted.total


def test_records_that_share_a_hash_stay_two(
    tmp_path: Path, one_hash: tuple[str, str]
) -> None:
    one, other = one_hash
    store = build_store(tmp_path, [{"record_id": one, "hole_depth_mm": "92"}])
    assert found(store, other) == 0
    rows = [{"record_id": other, "hole_depth_mm": "95"}]
    path = write_log(tmp_path / "b", rows, name="second")
    assert fates(store, path) == (1, 0, 0)
    rows = [{"record_id": one, "revision": "1", "hole_depth_mm": "93"}]
    path = write_log(tmp_path / "b", rows, name="third")
    assert fates(store, path) == (0, 1, 0)
    with store.reader() as con:
        depths = {
            record_id: con.execute(
                "select hole_depth_mm from installation where record_id = ?",
                [record_id],
            ).fetchall()
            for record_id in one_hash
        }
        assert depths == {one: [(93,)], other: [(95,)]}
        assert read_faults(con, all_proofs()).is_empty()
    assert [found(store, record_id) for record_id in one_hash] == [1, 1]


def test_a_record_of_another_site_is_another_record(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{"record_id": "A"}])
    path = write_log(tmp_path / "b", [{"record_id": "A"}], site="SITE-2")
    assert fates(store, path) == (1, 0, 0)


def test_hashes_of_another_version_are_made_anew(tmp_path: Path) -> None:
    # Another version of DuckDB may hash differently: as if this one had.
    store = build_store(tmp_path, [{"record_id": "A"}, {"record_id": "B"}])
    path = write_log(tmp_path / "b", [{"record_id": "A", "revision": "1"}], name="b")
    load(store, path)
    with open_ledger(store) as con:
        for table in ("installation", "superseded_installation"):
            con.execute(
                f"update {table} set record_hash = xor(record_hash, 5::uinteger)"
            )
        edition_id = seal_edition(con, store, NOW, reason="load")
    publish_edition(store, edition_id)
    # The edition keeps them until the next load, and is searched by the numbers.
    assert [found(store, record_id) for record_id in ("A", "B", "C")] == [1, 1, 0]
    path = write_log(tmp_path / "b", [{"record_id": "B", "revision": "1"}], name="c")
    assert fates(store, path) == (0, 1, 0)
    with store.reader() as con:
        assert read_faults(con, all_proofs()).is_empty()
