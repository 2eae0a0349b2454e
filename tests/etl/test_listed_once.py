"""A fault is listed until somebody answers it, and once, whatever comes and goes."""

from pathlib import Path

import pytest

from etl.unload import unload
from tests.builders import Row, build_store, load, write_csv, write_log
from tests.etl.company_logs import row as company
from tests.etl.company_logs import write_map, write_rows
from tests.etl.correcting import given_back, open_rejects, sent_again

Printed = pytest.CaptureFixture[str]
NO_CREW: Row = {"record_id": "R", "crew_code": ""}
GOOD: Row = {"record_id": "R"}
OTHER: Row = {"record_id": "S"}
FULLER: Row = {"record_id": "R", "bit_code": "B1"}
LOG = [("SITE-1_log.csv", 2)]
TRAINED: Row = {
    "crew_code": "C1",
    "topic": "setting_torque",
    "trained_on": "2026-01-19",
}
FORM = """
[site]
code = "F"
name = "Invented form"
time_zone = "Europe/Lisbon"
[files]
match = "f*.csv"
[columns]
record_id = "No"
installed_on = {from = "Day", fill_down = true}
crew_code = {from = "Crew", fill_down = true}
setting_code = {from = "Code", fill_down = true}
hole_depth_mm = "Depth"
"""


def test_rows_of_two_maps_of_a_site_in_one_file(
    tmp_path: Path, capsys: Printed
) -> None:
    store = build_store(tmp_path)
    load(store, write_log(tmp_path / "a", [NO_CREW], name="a"))
    load(store, write_log(tmp_path / "b", [NO_CREW | OTHER], name="b"))
    one, two = given_back(store, capsys)
    sent_again(store, tmp_path / "m.csv", [one, two | {"crew_code": "C"}])
    assert open_rejects(store) == [("m.csv", 2)]


def test_a_row_given_up_beside_one_left_as_it_is(
    tmp_path: Path, capsys: Printed
) -> None:
    store = build_store(tmp_path, [{"record_id": "X", "crew_code": ""}, GOOD])
    load(store, write_log(tmp_path / "b", [FULLER], name="b"))
    left, displaced = given_back(store, capsys)
    rows = [
        dict.fromkeys([*left, "firmset bit_code"], "") | left,
        displaced | {"firmset bit_code": "B1"},
    ]
    result = sent_again(store, tmp_path / "m.csv", rows)
    assert len({receipt.source_file_id for receipt in result.receipts}) == 2
    assert open_rejects(store) == [("m.csv", 2)]


def test_displaced_rows_of_two_sites_of_one_map(
    tmp_path: Path, capsys: Printed
) -> None:
    store = build_store(tmp_path)
    write_map(tmp_path)
    for name, depth in (("export1.csv", ""), ("export2.csv", "92")):
        both = [company(1, site, Depth=depth) for site in ("Harbour hall", "Quay 3")]
        load(store, write_rows(tmp_path / name, both))
    rows = [row | {"firmset hole_depth_mm": "92"} for row in given_back(store, capsys)]
    sent_again(store, tmp_path / "m.csv", rows)
    assert open_rejects(store) == []


# Row 3 of the first form is a number alone: never an anchor, though a later form has
# one of that number and goes again.
def test_what_is_no_installation_never_becomes_one(
    tmp_path: Path, capsys: Printed
) -> None:
    store = build_store(tmp_path)
    (tmp_path / "f.toml").write_text(FORM, "utf-8")
    head = "No,Day,Crew,Code,Depth\n1,2026-05-04,K1,M12-68,92\n"
    for number, two in ((1, "2,,,,\n"), (2, "2,2026-05-05,K1,M12-68,91\n")):
        text = f"{head}{two}9,soon,K1,M12-68,90\n"
        (tmp_path / f"f{number}.csv").write_text(text, "utf-8")
    load(store, tmp_path / "f1.csv")
    assert open_rejects(store) == [("f1.csv", 4)]
    [second] = load(store, tmp_path / "f2.csv").receipts
    unload(store, second.source_file_id)
    [row] = given_back(store, capsys)
    assert row["No"] == "9"


@pytest.mark.parametrize("first", [[TRAINED], []])
def test_another_sites_sheet_of_the_same_name_answers_nothing(
    tmp_path: Path, first: list[Row]
) -> None:
    store = build_store(tmp_path)
    sheets = [first, [*first, TRAINED | {"trained_on": "32.05.2026"}]]
    sheets += [[TRAINED | {"crew_code": "C9"}]]
    for number, rows in enumerate(filter(None, sheets)):
        folder = tmp_path / str(number)
        folder.mkdir()
        load(store, write_csv(folder / "trainings.csv", rows))
    assert open_rejects(store) == [("trainings.csv", 2 + len(first))]


def test_a_row_of_a_sheet_that_was_mended_stays_so(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    faulty: Row = {"bit_code": "B3", "nominal_diameter_mm": "twelve"}
    sound: Row = {"bit_code": "B3", "nominal_diameter_mm": "12"}
    for number, rows in enumerate(
        [[faulty], [sound], [faulty, sound | {"bit_code": 4}]]
    ):
        load(store, write_csv(tmp_path / f"bits_{number}.csv", rows))
    assert open_rejects(store) == []


def test_left_as_it_is_and_said_again_by_the_list(
    tmp_path: Path, capsys: Printed
) -> None:
    store = build_store(tmp_path, [NO_CREW])
    sent_again(store, tmp_path / "m.csv", given_back(store, capsys))
    load(store, write_log(tmp_path / "2", [NO_CREW, OTHER]))
    assert open_rejects(store) == LOG


@pytest.mark.parametrize(("second", "left"), [("C", "m.csv"), ("", "m2.csv")])
def test_a_round_of_corrections_taken_back(
    tmp_path: Path, capsys: Printed, second: str, left: str
) -> None:
    """The second, which mended the row; or the first of two that left it."""
    store = build_store(tmp_path, [NO_CREW])
    receipts = []
    for name, crew in (("m.csv", ""), ("m2.csv", second)):
        rows = [row | {"crew_code": crew} for row in given_back(store, capsys)]
        receipts += sent_again(store, tmp_path / name, rows).receipts
    unload(store, receipts[1 if second else 0].source_file_id)
    assert open_rejects(store) == [(left, 2)]


def test_the_first_round_of_a_conflict_taken_back(
    tmp_path: Path, capsys: Printed
) -> None:
    store = build_store(tmp_path, [GOOD | {"setting_torque_nm": "50"}])
    other = [GOOD | {"setting_torque_nm": "52"}]
    load(store, write_log(tmp_path / "2", other, name="b"))
    [first] = sent_again(store, tmp_path / "m.csv", given_back(store, capsys)).receipts
    sent_again(store, tmp_path / "m2.csv", given_back(store, capsys))
    unload(store, first.source_file_id)
    assert open_rejects(store) == [("m2.csv", 2)]


def test_a_file_that_displaced_taken_back(tmp_path: Path) -> None:
    store = build_store(tmp_path, [NO_CREW])
    load(store, write_log(tmp_path / "2", [GOOD]))
    load(store, write_log(tmp_path / "3", [NO_CREW, OTHER]))
    assert open_rejects(store) == []
    [last] = load(store, write_log(tmp_path / "4", [FULLER])).receipts
    unload(store, last.source_file_id)
    assert open_rejects(store) == []


def test_a_revision_written_for_firmset_beside_a_column_of_its_own(
    tmp_path: Path, capsys: Printed
) -> None:
    first, second = (
        {**GOOD, "revision": "", "setting_torque_nm": torque} for torque in ("50", "52")
    )
    store = build_store(tmp_path, [first])
    load(store, write_log(tmp_path / "2", [second]))
    [row] = given_back(store, capsys)
    sent_again(store, tmp_path / "m.csv", [row | {"firmset revision": "1"}])
    assert open_rejects(store) == []


def test_a_record_of_three_lists_is_displaced_once(tmp_path: Path) -> None:
    third: Row = {"record_id": "T"}
    store = build_store(tmp_path, [GOOD])
    load(store, write_log(tmp_path / "2", [GOOD, OTHER]))
    [last] = load(store, write_log(tmp_path / "3", [GOOD, OTHER, third])).receipts
    load(store, write_log(tmp_path / "4", [FULLER]))
    assert open_rejects(store) == LOG
    # Where the list it came last in goes, it is open where it was before.
    unload(store, last.source_file_id)
    assert open_rejects(store) == LOG


def test_what_a_revision_overruled_is_not_displaced_again(tmp_path: Path) -> None:
    store = build_store(tmp_path, [GOOD | {"revision": "0"}])
    revised = GOOD | {"revision": "1", "setting_torque_nm": "52"}
    load(store, write_log(tmp_path / "2", [revised]))
    load(store, write_log(tmp_path / "3", [FULLER | {"revision": "0"}]))
    assert open_rejects(store) == []


# Without a number nothing tells which of two rows alike a list still has.
def test_of_two_rows_alike_one_that_is_said_again_stands_for_one(
    tmp_path: Path,
) -> None:
    store = build_store(tmp_path, [{"record_id": ""}] * 2)
    load(store, write_log(tmp_path / "2", [{"record_id": ""}, OTHER]))
    assert len(open_rejects(store)) == 2


@pytest.mark.parametrize("lost", ["firmset hole_depth_mm", "firmset crew_code"])
def test_a_column_of_a_displaced_row_that_is_gone(
    tmp_path: Path, capsys: Printed, lost: str
) -> None:
    store = build_store(tmp_path, [GOOD])
    load(store, write_log(tmp_path / "b", [FULLER], name="b"))
    [row] = given_back(store, capsys)
    kept = {name: row[name] for name in row if name != lost}
    result = sent_again(store, tmp_path / "m.csv", [kept | {"firmset revision": "1"}])
    assert result.failures
    assert len(open_rejects(store)) == 1


def test_a_column_of_the_sites_own_with_such_a_name(
    tmp_path: Path, capsys: Printed
) -> None:
    store = build_store(tmp_path)
    log = write_log(tmp_path / "b", [NO_CREW], name="b")
    head, row = log.read_text("utf-8").splitlines()
    log.write_text(f"{head},firmset record_id\n{row},v\n", "utf-8")
    load(store, log)
    mended = [row | {"crew_code": "C"} for row in given_back(store, capsys)]
    [receipt] = sent_again(store, tmp_path / "m.csv", mended).receipts
    assert receipt.loaded == 1
