"""Rows that are no installations: told from those to correct, and settled at once.

Expected by hand, from the files that each test writes.
"""

from pathlib import Path

import pytest

from dashboard.command import main
from etl.site_map import read_site_map
from etl.unload import unload
from queries.errors import FirmsetError
from queries.readers.intake import read_last_sent, read_rejects
from queries.store import Store
from tests.builders import NOW, build_store, load
from tests.etl.correcting import open_rejects

MAP = """
[site]
code = "FORMS"
name = "Invented site with signatures"
time_zone = "Europe/Madrid"
[files]
match = "form.csv"
{files}
[columns]
record_id = "No"
installed_on = "Day"
crew_code = "Crew"
setting_code = "Code"
"""
LOG = (
    "No,Day,Crew,Code\n"
    "1,2026-05-04,C1,M12-68\n"
    "2,2026-05-04,,M12-68\n"
    "Signed: X,2026-05-04,C1,M12-68\n"
    "Design,2026-05-04,C1,M12-68\n"
    "No,Day,Crew,Code\n"
    " signature:,,,X\n"
    "Total,2,,\n"
)


def write_form(folder: Path, files: str = 'not_rows = ["Sign", "Seen by"]') -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "form.toml").write_text(MAP.format(files=files), "utf-8")
    path = folder / "form.csv"
    path.write_text(LOG, "utf-8")
    return path


def reasons(store: Store) -> list[tuple[int, str, int | None]]:
    with store.reader() as con:
        rows = read_rejects(con, with_cleared=True)
    return rows.select("source_row", "reason_code", "cleared_by").rows()


SETTLED = [
    (4, "not_a_row", 2),
    (6, "repeated_header", 2),
    (7, "not_a_row", 2),
    (8, "footer_total", 2),
]


def test_what_is_no_installation_is_kept_and_not_to_be_corrected(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path)
    [receipt] = load(store, write_form(tmp_path / "a")).receipts
    # Row 4 could be taken, but the map says what it is.
    assert (receipt.rows_read, receipt.loaded, receipt.rejected) == (7, 2, 5)
    assert receipt.settled == 4
    [remark] = receipt.remarks
    assert remark == "4 of 5 rejected rows are no installations: nothing to correct"
    assert reasons(store) == [(3, "no_crew_code", None), *SETTLED]
    assert open_rejects(store) == [("form.csv", 3)]
    with store.reader() as con:
        [site] = read_last_sent(con, NOW.date()).to_dicts()
    assert (site["rejected"], site["open_rejected"]) == (5, 1)
    assert main(["verify", "--store", str(store.folder)]) == 0
    capsys.readouterr()


# The same bytes under a better map: what was told of the first reading is settled.
def test_a_file_that_is_read_again_by_another_map_is_told_once(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    load(store, write_form(tmp_path / "a", ""))
    assert open_rejects(store) == [("form.csv", 3), ("form.csv", 7)]
    load(store, write_form(tmp_path / "a"))
    assert open_rejects(store) == [("form.csv", 3)]
    with store.reader() as con:
        assert read_rejects(con)["source_file_id"].to_list() == [3]
    unload(store, 3, now=NOW)
    assert open_rejects(store) == [("form.csv", 3), ("form.csv", 7)]


def test_the_command_for_rejected_rows_is_said_where_one_is_open(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path)
    path = write_form(tmp_path / "a")
    arguments = ["load", "--store", str(store.folder), str(path)]
    main(arguments)
    assert "lists the rejected rows" in capsys.readouterr().out
    path.write_text(LOG.replace("04,,", "04,C1,"), "utf-8")
    main(arguments)
    assert "lists the rejected rows" not in capsys.readouterr().out


def test_not_rows_are_words(tmp_path: Path) -> None:
    write_form(tmp_path, 'not_rows = [" : ", "x"]')
    with pytest.raises(
        FirmsetError, match=r"not_rows = .*expected a list of the words"
    ):
        read_site_map(tmp_path / "form.toml")


# A row that has its own day, crew and setting code is an anchor, if nothing else.
def test_a_row_without_values_is_loaded(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    path = write_form(tmp_path / "a")
    site_map = tmp_path / "a" / "form.toml"
    site_map.write_text(f'{site_map.read_text("utf-8")}hole_depth_mm = "Depth"\n')
    path.write_text("No,Day,Crew,Code,Depth\nTotal 1,2026-05-04,C1,M12-68,\n")
    [receipt] = load(store, path).receipts
    assert (receipt.loaded, receipt.rejected) == (1, 0)


MERGED = """
[site]
code = "MERGED"
name = "Invented site with merged cells"
time_zone = "Europe/Madrid"
[files]
match = "form.csv"
[columns]
record_id = "No"
installed_on = {from = "Day", fill_down = true}
crew_code = {from = "Crew", fill_down = true}
setting_code = {from = "Code", fill_down = true}
hole_depth_mm = "Depth"
setting_torque_nm = "Torque"
"""


def test_what_follows_merged_cells_is_not_of_them(tmp_path: Path) -> None:
    """Row 5 has cells of its own and nothing recorded: an anchor all the same."""
    store = build_store(tmp_path / "store")
    path = tmp_path / "form.csv"
    path.with_suffix(".toml").write_text(MERGED, "utf-8")
    path.write_text(
        "No,Day,Crew,Code,Depth,Torque\n"
        "1,2026-05-04,C1,M12-68,92,55\n"
        "2,,,,92,55\n"
        "3,,,,,\n"
        "4,2026-05-05,C2,M12-68,,\n"
        "Total,,,,,110\n"
        "Signature,,,,X,\n"
        "5,,,,91,54\n"
        "Total 2,2026-05-06,C2,M12-68,90,55\n",
        "utf-8",
    )
    [receipt] = load(store, path).receipts
    assert (receipt.rows_read, receipt.loaded, receipt.rejected) == (8, 5, 3)
    assert [row[:2] for row in reasons(store)] == [
        (4, "only_number"),
        (6, "footer_total"),
        (7, "no_value"),
    ]


def test_names_that_come_again_are_none_where_the_day_is_said_once(
    tmp_path: Path,
) -> None:
    """No cell of such a row is a day: row 4 was an anchor of the crew "Crew"."""
    store = build_store(tmp_path)
    path = write_form(tmp_path / "a", 'header_row = 2\ntitles = ["Day"]')
    site_map = tmp_path / "a" / "form.toml"
    text = site_map.read_text("utf-8").replace('"Code"', '{always = "M12-68"}')
    site_map.write_text(text, "utf-8")
    path.write_text("Day: 2026-05-04,\nNo,Crew\n1,C1\nNo,Crew\n2,C1\n", "utf-8")
    [receipt] = load(store, path).receipts
    assert (receipt.rows_read, receipt.loaded, receipt.settled) == (3, 2, 1)
    assert [row[:2] for row in reasons(store)] == [(4, "repeated_header")]
