"""Several formats of one site over time: which map is taken, and that it is said."""

from datetime import date
from pathlib import Path

import pytest

from etl.choose_map import choose_site_map, period_in_name
from etl.intake import IntakeResult, load_paths
from etl.site_map import read_site_map
from queries.errors import FirmsetError
from queries.store import Store
from tests.builders import NOW, write_setting_data

COLUMNS = {
    "record_id": '"no"',
    "installed_on": '"date"',
    "crew_code": '"crew"',
    "setting_code": '"set"',
    "hole_depth_mm": '"depth"',
}


def write_map(
    folder: Path,
    name: str,
    *,
    valid_from: str = "",
    site: str = "YARD",
    match: str = "log*.csv",
    files: str = "",
    **columns: str,
) -> Path:
    """Write a map; columns stated are added to the few, or stand for them."""
    since = f"valid_from = {valid_from}\n" if valid_from else ""
    mapped = "\n".join(f"{key} = {value}" for key, value in (COLUMNS | columns).items())
    path = folder / f"{name}.toml"
    path.write_text(
        f'[site]\ncode = "{site}"\nname = "Invented"\ntime_zone = "Europe/Lisbon"\n'
        f'[files]\nmatch = "{match}"\n{since}{files}\n[columns]\n{mapped}\n',
        "utf-8",
    )
    return path


def write_log(folder: Path, name: str, headers: str = "no,date,crew,set,depth") -> Path:
    path = folder / name
    cells = {"no": "R1", "date": "2026-05-04", "crew": "C1", "set": "M12-68"}
    row = ",".join(cells.get(header, "92") for header in headers.split(","))
    path.write_text(f"{headers}\n{row}\n", "utf-8")
    return path


def load_into_new_store(folder: Path) -> IntakeResult:
    write_setting_data(folder)
    return load_paths(Store(folder / "store"), [folder], now=NOW)


# Days counted by hand; weeks: 2026-01-01 is a Thursday, so week 1 begins on Monday,
# 2025-12-29, and week 11 ten weeks later, on 2026-03-09 (ISO 8601).
@pytest.mark.parametrize(
    ("name", "first", "last"),
    [
        ("log_2026-03-14.csv", date(2026, 3, 14), date(2026, 3, 14)),
        ("20260314.csv", date(2026, 3, 14), date(2026, 3, 14)),
        ("log 14.03.2026.csv", date(2026, 3, 14), date(2026, 3, 14)),
        ("log_2026_03.csv", date(2026, 3, 1), date(2026, 3, 31)),
        ("log-2026-02.xlsx", date(2026, 2, 1), date(2026, 2, 28)),
        ("2026-W11.csv", date(2026, 3, 9), date(2026, 3, 15)),
        ("2026_KW01.csv", date(2025, 12, 29), date(2026, 1, 4)),
        ("2026-03-02_2026-03-08.csv", date(2026, 3, 2), date(2026, 3, 8)),
    ],
)
def test_dates_in_a_name(name: str, first: date, last: date) -> None:
    assert period_in_name(name) == (first, last)


@pytest.mark.parametrize(
    "name", ["log.csv", "log_120260314.csv", "2026-13-01.csv", "2026-W60.csv", "7.csv"]
)
def test_a_name_without_a_date(name: str) -> None:
    assert period_in_name(name) is None


@pytest.mark.parametrize(
    ("name", "taken"),
    [
        ("log_2026-02-28.csv", "old"),
        ("log_2026-03-01.csv", "new"),
        ("log_20260601.csv", "newest"),
        ("log_2026-W08.csv", "old"),
    ],
)
def test_a_date_in_the_name_decides(tmp_path: Path, name: str, taken: str) -> None:
    maps = [
        read_site_map(write_map(tmp_path, "new", valid_from="2026-03-01")),
        read_site_map(write_map(tmp_path, "newest", valid_from="2026-06-01")),
        read_site_map(write_map(tmp_path, "old")),
    ]
    chosen = choose_site_map(write_log(tmp_path, name), maps)
    assert chosen.path.stem == taken
    assert chosen.chosen_because is not None
    assert chosen.chosen_because.startswith(f"{taken}.toml: the file's name says 2026-")


# The person who sends log.csv every week under one name.
@pytest.mark.parametrize(
    ("headers", "depth"),
    [("no,date,crew,set,depth", 92.0), ("no,date,crew,set,cm", 920)],
)
def test_without_a_date_the_headers_decide_and_the_receipt_says_so(
    tmp_path: Path, headers: str, depth: float
) -> None:
    write_map(tmp_path, "old")
    in_cm = '{from = "cm", unit = "cm"}'
    write_map(tmp_path, "new", valid_from="2026-03-01", hole_depth_mm=in_cm)
    write_log(tmp_path, "log.csv", headers)
    result = load_into_new_store(tmp_path)
    assert result.failures == ()
    receipt = result.receipts[-1]
    taken, other = ("old", "new") if depth == 92 else ("new", "old")
    [remark] = receipt.remarks
    assert remark.startswith(f"site map {taken}.toml: the file has its columns; ")
    assert f"{other}.toml expects " in remark
    with Store(tmp_path / "store").reader() as con:
        rows = con.execute("select hole_depth_mm from installation").fetchall()
        kept = con.execute("select remarks from source_file order by all").fetchall()
    assert rows == [(depth,)]
    assert ([remark],) in kept


def test_a_map_that_reads_a_new_column_too_is_taken(tmp_path: Path) -> None:
    old = read_site_map(write_map(tmp_path, "old"))
    new = read_site_map(
        write_map(tmp_path, "new", valid_from="2026-03-01", setting_torque_nm='"nm"')
    )
    wide = write_log(tmp_path, "log.csv", "no,date,crew,set,depth,nm")
    chosen = choose_site_map(wide, [old, new])
    assert chosen.path.stem == "new"
    assert chosen.chosen_because is not None
    assert "which include all that old.toml reads" in chosen.chosen_because
    narrow = write_log(tmp_path, "log_b.csv")
    assert choose_site_map(narrow, [old, new]).path.stem == "old"


# The same headers in another unit: nothing in the file tells the two apart.
def test_two_maps_that_both_fit_are_an_error_naming_both(tmp_path: Path) -> None:
    write_map(tmp_path, "old")
    in_cm = '{from = "depth", unit = "cm"}'
    write_map(tmp_path, "new", valid_from="2026-03-01", hole_depth_mm=in_cm)
    write_log(tmp_path, "log.csv")
    [failure] = load_into_new_store(tmp_path).failures
    assert "new.toml, old.toml all fit its columns; expected one" in failure


def test_more_columns_in_another_unit_do_not_include_the_fewer(tmp_path: Path) -> None:
    maps = [
        read_site_map(write_map(tmp_path, "old")),
        read_site_map(
            write_map(
                tmp_path,
                "new",
                valid_from="2026-03-01",
                hole_depth_mm='{from = "depth", unit = "cm"}',
                setting_torque_nm='"nm"',
            )
        ),
    ]
    path = write_log(tmp_path, "log.csv", "no,date,crew,set,depth,nm")
    with pytest.raises(FirmsetError, match=r"old.toml, new.toml all fit"):
        choose_site_map(path, maps)


# March has days of both maps.
def test_a_month_with_the_change_in_it_leaves_it_to_the_headers(tmp_path: Path) -> None:
    maps = [
        read_site_map(write_map(tmp_path, "first")),
        read_site_map(write_map(tmp_path, "old", valid_from="2026-01-01")),
        read_site_map(
            write_map(tmp_path, "new", valid_from="2026-03-15", hole_depth_mm='"tief"')
        ),
    ]
    path = write_log(tmp_path, "log_2026_03.csv", "no,date,crew,set,tief")
    chosen = choose_site_map(path, maps)
    assert chosen.path.stem == "new"
    assert chosen.chosen_because is not None
    assert "the file has its columns" in chosen.chosen_because


def test_a_day_before_every_map_is_an_error(tmp_path: Path) -> None:
    maps = [read_site_map(write_map(tmp_path, "new", valid_from="2026-03-01"))]
    path = write_log(tmp_path, "log_2026-02-28.csv")
    with pytest.raises(FirmsetError, match=r"2026-02-28, before any .*from 2026-03-01"):
        choose_site_map(path, maps)


# The name's date decides, the columns are another's: the failure says both.
def test_a_failure_says_why_its_map_was_taken(tmp_path: Path) -> None:
    write_map(tmp_path, "old")
    write_map(tmp_path, "new", valid_from="2026-03-01", hole_depth_mm='"tief"')
    write_log(tmp_path, "log_2026-03-14.csv")
    [failure] = load_into_new_store(tmp_path).failures
    assert "hole_depth_mm from 'tief'" in failure
    assert "(site map new.toml: the file's name says 2026-03-14" in failure


def test_none_that_fits_says_what_each_lacks(tmp_path: Path) -> None:
    maps = [
        read_site_map(write_map(tmp_path, "old")),
        read_site_map(write_map(tmp_path, "b", valid_from="2026-03-01", note='"n"')),
        read_site_map(
            write_map(tmp_path, "c", valid_from="2026-04-01", files="header_row = 9")
        ),
    ]
    path = write_log(tmp_path, "log.csv", "no,date,crew,set")
    with pytest.raises(FirmsetError) as error:
        choose_site_map(path, maps)
    assert "old.toml expects 'depth', which the file lacks" in str(error.value)
    assert "b.toml expects 'depth', 'n', which" in str(error.value)
    assert "c.toml expects column names in row 9, where" in str(error.value)


@pytest.mark.parametrize(
    ("second", "words"),
    [
        ({"site": "OTHER", "valid_from": "2026-03-01"}, "but are of different sites"),
        ({}, "expected one site map a file, or"),
    ],
)
def test_maps_that_cannot_be_told_apart_are_an_error(
    tmp_path: Path, second: dict[str, str], words: str
) -> None:
    maps = [
        read_site_map(write_map(tmp_path, "a")),
        read_site_map(write_map(tmp_path, "b", **second)),
    ]
    with pytest.raises(FirmsetError, match=r"a.toml, b.toml all match") as error:
        choose_site_map(write_log(tmp_path, "log.csv"), maps)
    assert words in str(error.value)


def test_keys_of_json_may_be_missing_in_some_lines(tmp_path: Path) -> None:
    path = tmp_path / "log.jsonl"
    path.write_text(
        '{"no": "R1", "date": "2026-05-04", "crew": "C1", "set": "M12-68"}\nnot json\n',
        "utf-8",
    )
    maps = [
        read_site_map(write_map(tmp_path, "a", match="log.jsonl")),
        read_site_map(
            write_map(
                tmp_path,
                "b",
                valid_from="2026-03-01",
                match="log.jsonl",
                crew_code='"gang"',
            )
        ),
    ]
    chosen = choose_site_map(path, maps)
    assert chosen.path.stem == "a"
    assert "b.toml expects 'gang'" in (chosen.chosen_because or "")
