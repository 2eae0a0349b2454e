"""What becomes of every row: loaded, revised, duplicate or rejected."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from etl.load import load_log
from etl.receipt import Receipt
from queries.readers.intake import read_receipts, read_rejects
from queries.store import Store
from tests.builders import Row, build_store, load, write_log, write_setting_data


def fates(receipt: Receipt) -> tuple[int, int, int, int]:
    return receipt.loaded, receipt.revised, receipt.duplicate, receipt.rejected


def load_rows(
    store: Store, folder: Path, rows: Sequence[Row], *, site: str = "SITE-1"
) -> Receipt:
    [receipt] = load(store, write_log(folder, rows, site=site)).receipts
    return receipt


def current(store: Store) -> list[tuple[object, ...]]:
    with store.reader() as con:
        return con.execute(
            """
            select record_id, revision, setting_torque_nm from installation
            order by all
            """
        ).fetchall()


def superseded(store: Store) -> list[tuple[object, ...]]:
    with store.reader() as con:
        return con.execute(
            """
            select record_id, revision, setting_torque_nm from superseded_installation
            order by all
            """
        ).fetchall()


def tallied(store: Store) -> list[tuple[object, ...]]:
    """Return installations, and judged and nonconforming setting torques."""
    with store.reader() as con:
        return con.execute(
            """
            select sum(installations)::bigint, sum(setting_torque_judged)::bigint,
                sum(setting_torque_nonconforming)::bigint
            from tally
            """
        ).fetchall()


def torque(record_id: str, revision: str, torque_nm: str) -> Row:
    return {
        "record_id": record_id,
        "revision": revision,
        "setting_torque_nm": torque_nm,
    }


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return build_store(
        tmp_path / "held", [torque("A", "0", "50"), torque("B", "1", "51")]
    )


def test_a_higher_revision_supersedes(store: Store, tmp_path: Path) -> None:
    receipt = load_rows(store, tmp_path, [torque("A", "1", "55")])
    assert fates(receipt) == (0, 1, 0, 0)
    assert current(store) == [("A", 1, 55), ("B", 1, 51)]
    assert superseded(store) == [("A", 0, 50)]


def test_the_tally_follows_a_revision(store: Store, tmp_path: Path) -> None:
    # 50 and 51 Nm lie within 49.5 to 60.5 Nm; 30 Nm does not.
    assert tallied(store) == [(2, 2, 0)]
    load_rows(store, tmp_path, [torque("A", "1", "30")])
    assert tallied(store) == [(2, 2, 1)]


def test_a_lower_revision_that_comes_late_is_kept_aside(
    store: Store, tmp_path: Path
) -> None:
    receipt = load_rows(store, tmp_path, [torque("B", "0", "40")])
    assert fates(receipt) == (0, 1, 0, 0)
    assert current(store) == [("A", 0, 50), ("B", 1, 51)]
    assert superseded(store) == [("B", 0, 40)]


def test_the_same_content_again_is_a_duplicate(store: Store, tmp_path: Path) -> None:
    receipt = load_rows(
        store, tmp_path, [torque("A", "", "50"), torque("C", "0", "52")]
    )
    assert fates(receipt) == (1, 0, 1, 0)
    assert current(store) == [("A", 0, 50), ("B", 1, 51), ("C", 0, 52)]


# Of two contents under one revision the one with fewer gaps is held, whichever came
# first; of equals the first by its text, here the smaller torque.
@pytest.mark.parametrize(
    ("row", "fate", "held"),
    [
        ({"setting_torque_nm": ""}, (0, 0, 0, 1), 50),
        ({"setting_torque_nm": "51"}, (0, 0, 0, 1), 50),
        ({"setting_torque_nm": "51", "bit_code": "B1"}, (1, 0, 0, 0), 51),
        ({"setting_torque_nm": "49"}, (1, 0, 0, 0), 49),
        ({"setting_torque_nm": "51", "tilt_deg": "a bit"}, (0, 0, 0, 1), 50),
    ],
)
def test_other_content_under_the_same_revision_is_a_conflict(
    store: Store, tmp_path: Path, row: Row, fate: tuple[int, ...], held: float
) -> None:
    receipt = load_rows(store, tmp_path, [{"record_id": "A", "revision": "0"} | row])
    assert fates(receipt) == fate
    assert current(store) == [("A", 0, held), ("B", 1, 51)]
    with store.reader() as con:
        [reject] = read_rejects(con).to_dicts()
        counts = con.execute(
            "select loaded, rejected from source_file where site_code is not null"
        ).fetchall()
    assert sorted(counts) == sorted([(2 - fate[0], fate[0]), (fate[0], fate[3])])
    assert reject["reason_code"] == ("conflict" if fate[3] else "displaced")
    assert reject["reason"].startswith("record A revision 0 ")
    assert "expected a higher revision" in reject["reason"]


def test_receipts_of_one_load_say_what_stands_after_all_of_it(tmp_path: Path) -> None:
    """The first file's row counts until the second brings it without a gap."""
    store = build_store(tmp_path, [])
    logs = [
        write_log(
            tmp_path, [{"record_id": "A", "setting_torque_nm": torque}], name=name
        )
        for name, torque in (("1", ""), ("2", "50"))
    ]
    first, second = load(store, *logs).receipts
    assert (fates(first), fates(second)) == ((0, 0, 0, 1), (1, 0, 0, 0))


def test_revisions_within_one_file(tmp_path: Path) -> None:
    rows = [
        torque("A", "2", "52"),
        torque("A", "0", "50"),
        torque("A", "2", "52"),  # again: duplicate
        torque("A", "1", "51"),  # conflict with the next, which comes first by text
        torque("A", "1", "49"),
    ]
    store = build_store(tmp_path / "empty")
    receipt = load_rows(store, tmp_path, rows)
    # The lowest revision is the record's first row; the two above it revise it.
    assert fates(receipt) == (1, 2, 1, 1)
    assert current(store) == [("A", 2, 52)]
    assert superseded(store) == [("A", 0, 50), ("A", 1, 49)]
    assert tallied(store) == [(1, 1, 0)]


def test_the_same_record_number_on_two_sites_is_two_records(
    store: Store, tmp_path: Path
) -> None:
    receipt = load_rows(store, tmp_path, [torque("A", "0", "49")], site="SITE-2")
    assert fates(receipt) == (1, 0, 0, 0)


def test_the_same_file_again_changes_nothing(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "held" / "logs" / "SITE-1_log.csv"
    before = store.current_edition_id()
    result = load(store, path)
    [receipt] = result.receipts
    assert (receipt.is_new, fates(receipt)) == (False, (0, 0, 2, 0))
    assert store.current_edition_id() == before
    with store.reader() as con:
        assert receipt.source_file_id in read_receipts(con)["source_file_id"]


# Where the sheet itself is missing or was refused, no code could be right.
def test_a_log_before_any_setting_data_is_told_so(tmp_path: Path) -> None:
    store = Store(tmp_path / "store")
    [receipt] = load(store, write_log(tmp_path, [{"setting_code": "M12-68"}])).receipts
    assert receipt.rejected == 1
    with store.reader() as con:
        [reject] = read_rejects(con).to_dicts()
    assert reject["reason"] == (
        "setting_code: 'M12-68', expected a code of the setting data, of which none is "
        "loaded yet"
    )
    write_setting_data(tmp_path)
    load(store, tmp_path)
    with store.reader() as con:
        assert read_rejects(con).is_empty()


# Expected: the reason code, and the words with header, value and what was expected.
@pytest.mark.parametrize(
    ("row", "code", "words"),
    [
        ({"record_id": " "}, "no_record_id", "record_id: ' ', expected a record's own"),
        ({"installed_on": "31.02.2026"}, "no_date", "installed_on: '31.02.2026'"),
        ({"installed_on": "2026-02-31"}, "no_date", "expected a date as 2026-01-31"),
        ({"installed_on": ""}, "no_date", "installed_on: blank"),
        ({"crew_code": "n/a"}, "no_crew_code", "crew_code: 'n/a', expected a crew's"),
        ({"setting_code": "-"}, "no_setting_code", "setting_code: '-'"),
        # No like code is proposed: it may well be of another size, as M12-68 here.
        (
            {"setting_code": "M14-68"},
            "unknown_setting_code",
            "setting_code: 'M14-68', expected a code of the setting data, or a line",
        ),
        # As the first revision it would lose to what it corrects.
        (
            {"revision": "two"},
            "unreadable_revision",
            "revision: 'two', expected a whole number, 0 or more",
        ),
        ({"revision": "1.5"}, "unreadable_revision", "revision: '1.5'"),
    ],
)
def test_rejected_with_reason_and_raw_text(
    tmp_path: Path, row: Row, code: str, words: str
) -> None:
    store = build_store(tmp_path, [{}, row | {"note": "in the corner, left"}, {}])
    with store.reader() as con:
        [reject] = read_rejects(con).to_dicts()
        [receipt] = read_receipts(con).filter(content="installations").to_dicts()
    assert (receipt["rows_read"], receipt["loaded"], receipt["rejected"]) == (3, 2, 1)
    assert (reject["source_row"], reject["reason_code"]) == (3, code)
    assert words in reject["reason"]
    assert '"note":"in the corner, left"' in reject["raw_text"]


# A bad optional value costs the value, not the row.
def test_an_unreadable_value_is_a_field_fault(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}, {"hole_depth_mm": "ca. 90", "packing_mm": "-5"}])
    with store.reader() as con:
        faults = con.execute(
            "select source_row, column_name, raw_value, reason from field_fault "
            "order by column_name"
        ).fetchall()
        stored = con.execute(
            "select hole_depth_mm, packing_mm from installation where record_id = 'R2'"
        ).fetchall()
    expected = "expected a number of mm, 0 or more"
    assert faults == [
        (3, "hole_depth_mm", "ca. 90", expected),
        (3, "packing_mm", "-5", expected),
    ]
    assert stored == [(None, None)]


# One cell that cannot be cast must neither end the load nor lose its row: DuckDB pushes
# a TRY_CAST into its CSV reader as a strict cast, so nothing is cast while reading.
def test_a_bad_cell_among_many_costs_only_itself(tmp_path: Path) -> None:
    rows = [{"hole_depth_mm": "92"}] * 5_000
    rows[4_321] = {"hole_depth_mm": "rubbish"}
    store = build_store(tmp_path, rows)
    with store.reader() as con:
        counted = con.execute(
            "select count(*), count(hole_depth_mm) from installation"
        ).fetchall()
    assert counted == [(5_000, 4_999)]


# source_row must be the row of the file, also where several threads read it: 60,000
# rows are some twenty blocks of the reader. Row 1 holds the headers.
def test_source_row_is_the_row_of_the_file(tmp_path: Path) -> None:
    rows = [{"note": f"line {number}, as written"} for number in range(2, 60_002)]
    store = build_store(tmp_path, rows)
    with store.reader() as con:
        misplaced = con.execute(
            """
            select count(*) from installation
            where note is distinct from 'line ' || source_row || ', as written'
            """
        ).fetchall()
    assert misplaced == [(0,)]


def test_a_line_break_in_a_cell_is_no_new_row(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{"note": "first line\nsecond line"}, {}])
    with store.reader() as con:
        notes = con.execute("select note from installation order by record_id")
        assert notes.fetchall() == [("first line\nsecond line",), (None,)]


def test_a_row_with_too_many_cells_is_rejected_not_cut(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    path = write_log(tmp_path, [{}, {}])
    lines = path.read_text("utf-8").splitlines()
    path.write_text("\n".join([*lines[:2], lines[2] + ",surplus", ""]), "utf-8")
    [receipt] = load(store, path).receipts
    assert fates(receipt) == (1, 0, 0, 1)
    with store.reader() as con:
        [reject] = read_rejects(con).to_dicts()
    assert reject["reason_code"] == "unreadable_line"
    assert "surplus" in reject["raw_text"]


def test_a_fault_of_our_own_costs_one_file_and_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(con: Any, path: Path, *rest: Any, **options: Any) -> list[Receipt]:
        if "BAD" in path.name:
            raise ValueError("not in tuple")
        return load_log(con, path, *rest, **options)

    monkeypatch.setattr("etl.intake.load_log", fail)
    store = build_store(tmp_path)
    paths = [write_log(tmp_path, [{}], site=site) for site in ("A", "BAD", "Z")]
    result = load(store, *paths)
    [failure] = result.failures
    assert str(paths[1]) in failure
    assert "a fault of firmset's own (ValueError('not in tuple'))" in failure
    with store.reader() as con:
        sites = con.execute("select site_code from site order by all").fetchall()
    assert sites == [("A",), ("Z",)]


def test_a_file_that_fails_leaves_no_trace_and_the_others_are_loaded(
    tmp_path: Path,
) -> None:
    store = build_store(tmp_path)
    good = write_log(tmp_path, [{}], site="GOOD")
    bad = write_log(tmp_path, [{}], site="BAD")
    bad.write_text("not,the,headers\n1,2,3\n", "utf-8")
    result = load(store, bad, good)
    [failure] = result.failures
    assert str(bad) in failure
    assert "the file has the columns not, the, headers" in failure
    assert [receipt.site_code for receipt in result.receipts] == ["GOOD"]
    with store.reader() as con:
        sites = con.execute("select site_code from site order by all").fetchall()
    assert sites == [("GOOD",)]
