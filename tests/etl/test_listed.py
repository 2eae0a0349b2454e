"""Logs that list their values, one a row: an anchor's stand below one another."""

import csv
import json
import random
from pathlib import Path

import polars as pl
import pytest
import xlsxwriter

from etl.choose_map import choose_site_map
from etl.intake import IntakeResult, load_paths
from etl.site_map import read_site_map
from etl.staging import limits
from queries.errors import FirmsetError
from queries.store import Store
from tests.builders import NOW, build_store, write_log
from tests.etl.correcting import given_back, sent_again

MAP = """
[site]
code = "QUAY"
name = "Invented quay"
time_zone = "Europe/Lisbon"
[files]
match = "checks*"
[listed]
anchor = "Anchor"
name = "Item"
value = "Result"
unit = "Unit"
[columns]
record_id = "Anchor"
installed_on = "Day"
crew_code = "Crew"
setting_code = "Spec"
hole_depth_mm = "Depth"
setting_torque_nm = "Torque"
brush_count = "Brushed"
edge_1_mm = "Edge"
note = "Note"
wrench_code = "Wrench"
"""
HEADER = ["Anchor", "Day", "Crew", "Item", "Result", "Unit"]
OF_1 = ["A1", "2026-05-04", "K1"]
OF_2 = ["A2", "2026-05-05", "K2"]
ROWS = [
    [*OF_1, "Spec", "M12-68", ""],
    [*OF_1, "Depth", "9.2", "cm"],
    [*OF_1, "Torque", "55", "Nm"],
    [*OF_2, "Spec", "M12-68", "type"],
    [*OF_2, " depth", "93", "mm"],
    [*OF_1, "Brushed", "2", "pcs"],
    [*OF_2, "Torque", "50.5 Nm", "Nm"],
    [*OF_2, "Edge", "clear", "mm"],
]


def write_checks(
    folder: Path,
    rows: list[list[str]] = ROWS,
    site_map: str = MAP,
    name: str = "checks.csv",
) -> Path:
    """Write rows under HEADER as the kind of file that the name says, with a map."""
    path = folder / name
    if path.suffix == ".jsonl":
        lines = [json.dumps(dict(zip(HEADER, row, strict=True))) for row in rows]
        path.write_text("\n".join(lines), "utf-8")
    elif path.suffix == ".xlsx":
        with xlsxwriter.Workbook(path, {"strings_to_numbers": True}) as book:
            sheet = book.add_worksheet()
            for number, row in enumerate([HEADER, *rows]):
                sheet.write_row(number, 0, row)
    else:
        with path.open("w", encoding="utf-8", newline="") as target:
            csv.writer(target).writerows([HEADER, *rows])
    path.with_suffix(".toml").write_text(site_map, "utf-8")
    return path


def taken(store: Store, path: Path) -> IntakeResult:
    return load_paths(store, [path], now=NOW)


def held(store: Store, columns: str) -> list[tuple[object, ...]]:
    with store.reader() as con:
        return con.execute(
            f"select record_id, {columns} from installation order by record_id"
        ).fetchall()


def rejected(store: Store) -> list[tuple[object, ...]]:
    with store.reader() as con:
        return con.execute(
            "select source_row, reason_code, reason from rejected_row order by all"
        ).fetchall()


# By hand from ROWS. An anchor is known by its first row; a lone count has no unit.
@pytest.mark.parametrize(
    ("name", "first"), [("checks.csv", 2), ("checks.xlsx", 2), ("checks.jsonl", 1)]
)
def test_an_anchors_values_are_one_record(
    tmp_path: Path, name: str, first: int
) -> None:
    store = build_store(tmp_path)
    [receipt] = taken(store, write_checks(tmp_path, name=name)).receipts
    assert (receipt.rows_read, receipt.loaded, receipt.field_faults) == (2, 2, 0)
    assert held(
        store,
        "source_row, installed_on::varchar, crew_code, hole_depth_mm, "
        "setting_torque_nm, brush_count, edge_1_mm",
    ) == [
        ("A1", first, "2026-05-04", "K1", 92.0, 55.0, 2, None),
        ("A2", first + 3, "2026-05-05", "K2", 93.0, 50.5, None, float("inf")),
    ]
    assert receipt.remarks == [
        "values listed, one a row: 8 rows of 2 anchors",
        "read, but not in this file: 'Note', 'Wrench'",
    ]


# The reference is the same table, a row an anchor: polars makes the long one of it.
def test_a_table_and_its_values_listed_are_the_same_records(tmp_path: Path) -> None:
    choice = random.Random(20261130).choice
    logged = [
        {
            "crew_code": choice(["K1", "K2"]),
            "hole_depth_mm": choice(["88", "92.5", "", "?"]),
            "setting_torque_nm": choice(["55", "70", "n/a", "clear"]),
            "drill_method": choice(["hammer", "hollow_bit", "x"]),
            "note": choice(["", "rebar, moved", 'said "no"']),
        }
        for _ in range(60)
    ]
    wide = write_log(tmp_path / "wide", logged)
    site_map = wide.with_suffix(".toml").read_text("utf-8")
    table = pl.read_csv(wide, infer_schema=False)
    kept = ["record_id", "crew_code", "note"]
    long = table.unpivot(index=kept, variable_name="item", value_name="said")
    folder = tmp_path / "long"
    folder.mkdir()
    long.sample(fraction=1, shuffle=True, seed=7).write_csv(folder / wide.name)
    (folder / "long.toml").write_text(
        f'{site_map}\n[listed]\nanchor = "record_id"\nname = "item"\nvalue = "said"\n',
        "utf-8",
    )
    found = []
    for path in (wide, folder / wide.name):
        store = build_store(path.parent / "store")
        [receipt] = taken(store, path).receipts
        assert (receipt.rows_read, receipt.loaded) == (60, 60)
        held_rows = held(store, "* exclude (source_row, source_file_id)")
        with store.reader() as con:
            faults = con.execute(
                "select column_name, raw_value, count(*) from field_fault group by all "
                "order by all"
            ).fetchall()
        found.append((held_rows, faults))
    assert found[0] == found[1]
    assert found[0][1]


# Every row is accounted for: the words name what is blank, by the row in the file.
def test_rows_that_hold_no_value_of_an_anchor_are_rejected(tmp_path: Path) -> None:
    rows = [
        *ROWS,
        ["", "", "", "", "", ""],
        ["A1", "2026-05-04", "K1", "", "70", "Nm"],
        ["", "2026-05-04", "K1", "Torque", "71", "Nm"],
        HEADER,
        ["Total", "", "", "", "16", ""],
    ]
    store = build_store(tmp_path)
    [receipt] = taken(store, write_checks(tmp_path, rows)).receipts
    assert (receipt.rows_read, receipt.loaded, receipt.rejected) == (6, 2, 4)
    assert rejected(store) == [
        (
            11,
            "unreadable_line",
            "Item: blank, expected what the value under Result is",
        ),
        (
            12,
            "unreadable_line",
            "Anchor: blank, expected which anchor the value under Result is of",
        ),
        (13, "repeated_header", "the column names again"),
        (14, "footer_total", "a total of the rows above, no installation"),
    ]
    assert held(store, "setting_torque_nm") == [("A1", 55.0), ("A2", 50.5)]


# Which of two figures is meant nobody knows; two codes would be a crew or wrench more.
def test_what_is_said_twice_is_not_guessed(tmp_path: Path) -> None:
    rows = [
        *ROWS,
        [*OF_1, "Torque", "55", "Nm"],
        [*OF_1, "Torque", "70", "Nm"],
        [*OF_1, "Note", "wet", ""],
        [*OF_1, "Note", "cold", ""],
        [*OF_2, "Wrench", "W2", ""],
        ["A2", "2026-05-05", "K3", "Wrench", "W3", ""],
    ]
    store = build_store(tmp_path)
    [receipt] = taken(store, write_checks(tmp_path, rows)).receipts
    assert held(store, "setting_torque_nm, note") == [("A1", None, "wet / cold")]
    with store.reader() as con:
        assert con.execute(
            "select source_row, column_name, raw_value from field_fault"
        ).fetchall() == [(2, "setting_torque_nm", "55 Nm / 70 Nm")]
    assert rejected(store) == [
        (
            5,
            "unreadable_line",
            "two texts under Wrench: W2 / W3, expected one",
        )
    ]
    assert (
        "Crew: rows of 1 anchor differ, the first of each is taken" in receipt.remarks
    )


def test_two_values_of_a_name_may_be_parted(tmp_path: Path) -> None:
    edges = (
        'edge_1_mm = {from = "Edge", split = "/", piece = "1 of 2"}\n'
        'edge_2_mm = {from = "Edge", split = "/", piece = "2 of 2"}\n'
    )
    rows = [*ROWS[:4], [*OF_1, "Edge", "120", "mm"], [*OF_1, "Edge", "80", "mm"]]
    store = build_store(tmp_path)
    site_map = MAP.replace('edge_1_mm = "Edge"\n', edges)
    taken(store, write_checks(tmp_path, rows, site_map))
    assert held(store, "edge_1_mm, edge_2_mm")[0] == ("A1", 120.0, 80.0)


def test_an_anchor_may_be_named_once(tmp_path: Path) -> None:
    rows = [
        [*OF_1, "Spec", "M12-68", ""],
        ["", "", "", "Depth", "92", "mm"],
        ["", "", "", "", "", ""],
        [*OF_2, "", "", ""],
        ["", "", "", "Spec", "M12-68", ""],
        ["", "", "", "Torque", "55", "Nm"],
        ["", "", "", "", "Checked by hand", ""],
    ]
    store = build_store(tmp_path)
    site_map = MAP.replace('unit = "Unit"', 'unit = "Unit"\nfill_down = true')
    [receipt] = taken(store, write_checks(tmp_path, rows, site_map)).receipts
    assert held(store, "source_row, crew_code, hole_depth_mm, setting_torque_nm") == [
        ("A1", 2, "K1", 92.0, None),
        ("A2", 5, "K2", None, 55.0),
    ]
    assert (receipt.rows_read, receipt.rejected) == (3, 1)
    assert [row[:2] for row in rejected(store)] == [(8, "no_record_id")]


# As merged cells: a crew is said at its first anchor, and holds for those below.
def test_anchors_stand_in_the_order_of_the_file(tmp_path: Path) -> None:
    rows = [
        [f"A{number:02}", "2026-05-04", "K1" if number == 0 else "", "Spec", "M12-68"]
        for number in range(40)
    ]
    rows[20][2] = "K2"
    site_map = MAP.replace('"Crew"', '{from = "Crew", fill_down = true}')
    store = build_store(tmp_path)
    taken(store, write_checks(tmp_path, [[*row, ""] for row in rows], site_map))
    crews = [crew for _, crew in held(store, "crew_code")]
    assert crews == ["K1"] * 20 + ["K2"] * 20


def test_several_columns_may_tell_an_anchor(tmp_path: Path) -> None:
    rows = [[*row[:1], row[1], *row[2:]] for row in ROWS]
    rows += [["A1", "2026-05-05", "K1", *row[3:]] for row in ROWS[:3]]
    site_map = MAP.replace('anchor = "Anchor"', 'anchor = ["Anchor", "Day"]').replace(
        'record_id = "Anchor"', 'record_id = {from = "Anchor", within = ["Day"]}'
    )
    store = build_store(tmp_path)
    taken(store, write_checks(tmp_path, rows, site_map))
    assert held(store, "hole_depth_mm") == [
        ("2026-05-04/A1", 92.0),
        ("2026-05-05/A1", 92.0),
        ("2026-05-05/A2", 93.0),
    ]


def test_a_rejected_anchor_comes_back_as_one_row(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path)
    rows = [[cell.replace("M12-68", "?") for cell in row] for row in ROWS[:3]]
    taken(store, write_checks(tmp_path, [*rows, *ROWS[3:5], ROWS[7]]))
    [row] = given_back(store, capsys)
    assert (row["Anchor"], row["Spec"], row["Depth"]) == ("A1", "?", "9.2 cm")
    corrected = [row | {"Spec": "M12-68"}]
    [receipt] = sent_again(store, tmp_path / "back.csv", corrected).receipts
    assert not any("listed" in remark for remark in receipt.remarks)
    assert held(store, "hole_depth_mm, setting_torque_nm") == [
        ("A1", 92.0, 55.0),
        ("A2", 93.0, None),
    ]
    assert given_back(store, capsys) == []


def test_titles_and_sites_hold_for_listed_values(tmp_path: Path) -> None:
    site_map = (
        MAP.replace(
            '[site]\ncode = "QUAY"\nname = "Invented quay"', '[site]\nfrom = "Where"'
        )
        .replace('match = "checks*"', 'match = "checks*"\ntitles = ["Where"]')
        .replace('anchor = "Anchor"', 'anchor = ["Where", "Anchor"]')
    )
    site_map += '[sites]\n"East" = {code = "EAST", name = "East"}\n"West" = "EAST"\n'
    site_map += '"Hall" = {code = "HALL", name = "Hall"}\n'
    rows = [
        ["Where: East", "", "", "", "", ""],
        *ROWS[:3],
        ["Where: Hall", "", "", "", "", ""],
        *ROWS[:2],
    ]
    store = build_store(tmp_path)
    receipts = taken(store, write_checks(tmp_path, rows, site_map)).receipts
    assert [
        (one.site_code, one.rows_read, one.loaded, one.settled) for one in receipts
    ] == [("EAST", 2, 1, 1), ("HALL", 2, 1, 1)]
    assert receipts[0].remarks[0] == "values listed, one a row: 5 rows of 2 anchors"
    with store.reader() as con:
        assert con.execute(
            "select site_code, source_row, setting_torque_nm from installation "
            "order by site_code"
        ).fetchall() == [("EAST", 3, 55.0), ("HALL", 7, None)]


def test_names_that_nobody_reads_are_said_most_first(tmp_path: Path) -> None:
    more = [[*OF_1, f"Extra {number}", "x", ""] for number in range(6)]
    rows = [*ROWS, *more, [*OF_2, "Extra 4", "y", ""]]
    store = build_store(tmp_path)
    [receipt] = taken(store, write_checks(tmp_path, rows)).receipts
    assert receipt.remarks[1] == (
        "under Item, not read: 'Extra 4' (2 rows), 'Extra 0' (1 row), "
        "'Extra 1' (1 row), 'Extra 2' (1 row), 'Extra 3' (1 row) and 1 more"
    )


def test_a_file_without_the_columns_is_refused(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    site_map = MAP.replace('value = "Result"', 'value = "Reading"')
    [failure] = taken(store, write_checks(tmp_path, site_map=site_map)).failures
    assert str(failure).endswith(
        "row 1: the site map checks.toml takes 'Reading' under [listed], but the file "
        "has the columns Anchor, Day, Crew, Item, Result, Unit"
    )
    rows = [row for row in ROWS if row[3] != "Spec"]
    [failure] = taken(store, write_checks(tmp_path, rows)).failures
    assert "takes setting_code from 'Spec', but the file has" in str(failure)


def test_more_names_than_columns_are_refused(tmp_path: Path) -> None:
    rows = [[*OF_1, f"x{number}", "1", ""] for number in range(limits.MAX_COLUMNS)]
    [failure] = taken(build_store(tmp_path), write_checks(tmp_path, rows)).failures
    assert "more than 994 different texts stand under 'Item'" in str(failure)


# Of two formats of one name that is taken whose columns, or names in rows, are there.
def test_the_map_is_known_by_what_rows_name(tmp_path: Path) -> None:
    path = write_checks(tmp_path)
    renamed = MAP.replace('"Spec"', '"Type"').replace(
        'match = "checks*"', 'match = "checks*"\nvalid_from = 2026-06-01'
    )
    (tmp_path / "later.toml").write_text(renamed, "utf-8")
    maps = [read_site_map(tmp_path / name) for name in ("checks.toml", "later.toml")]
    assert choose_site_map(path, maps).path.name == "checks.toml"
    write_checks(tmp_path, [[*row[:3], "Type", *row[4:]] for row in ROWS[:1]])
    assert choose_site_map(path, maps).path.name == "later.toml"


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            'anchor = "Anchor"\n',
            "",
            '[listed] lacks anchor: expected a header such as "Anchor", or a list',
        ),
        ('anchor = "Anchor"', "anchor = [1]", "[listed] anchor = [1]: expected a head"),
        ('name = "Item"\n', "", "[listed] lacks name: expected a header such as"),
        ('unit = "Unit"', "unit = 3", "[listed] unit = 3: expected a header such as"),
        ('"Unit"', '"Item"', "expected each header once"),
        ('"Depth"', '"Result"', "[columns] hole_depth_mm takes 'Result', under which"),
        ('unit = "Unit"', 'units = "Unit"', "[listed] has no key 'units', expected"),
        ('"Unit"', '"Unit"\nfill_down = 1', "fill_down = 1: expected true or false"),
    ],
)
def test_a_fault_of_the_map_is_named(
    tmp_path: Path, old: str, new: str, said: str
) -> None:
    assert old in MAP
    path = tmp_path / "map.toml"
    path.write_text(MAP.replace(old, new, 1), "utf-8")
    with pytest.raises(FirmsetError) as error:
        read_site_map(path)
    assert said in str(error.value).replace('"Result"', "'Result'").replace(
        '"units"', "'units'"
    )


def test_the_same_values_again_change_nothing(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    taken(store, write_checks(tmp_path))
    [receipt] = taken(store, write_checks(tmp_path, ROWS[::-1])).receipts
    assert (receipt.rows_read, receipt.duplicate) == (2, 2)
