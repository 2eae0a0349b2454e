"""Logs that list their values, one a row: an anchor's stand below one another."""

import random
from pathlib import Path

import polars as pl
import pytest

from queries.store import Store
from tests.builders import build_store, write_log
from tests.etl.correcting import given_back, sent_again
from tests.etl.listed_logs import (
    ANSWERS,
    HEADER,
    MAP,
    OF_1,
    OF_2,
    ROWS,
    taken,
    write_answers,
    write_checks,
)


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


def test_the_same_values_again_change_nothing(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    taken(store, write_checks(tmp_path))
    [receipt] = taken(store, write_checks(tmp_path, ROWS[::-1])).receipts
    assert (receipt.rows_read, receipt.duplicate) == (2, 2)


# Counted by hand from ANSWERS: each record is one, whatever its list holds.
def test_a_json_record_may_list_its_values(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    [receipt] = taken(store, write_answers(tmp_path)).receipts
    assert (receipt.rows_read, receipt.loaded, receipt.rejected) == (3, 2, 1)
    assert held(
        store, "source_row, hole_depth_mm, setting_torque_nm, brush_count, crew_code"
    ) == [("A1", 1, 92.0, 55.0, None, "K1"), ("A2", 2, None, None, 2, "K2")]
    assert [row[:2] for row in rejected(store)] == [(3, "no_setting_code")]
    assert receipt.remarks[:2] == [
        "values listed, one a row: 7 rows of 3 anchors",
        "under form.answers.Item, not read: 'Photos' (1 row)",
    ]


@pytest.mark.parametrize(
    "form",
    [
        None,
        "[x",
        7,
        [],
        {"answers": None},
        {"answers": {}},
        {"answers": ["Depth", [1]]},
    ],
)
def test_a_json_record_without_such_a_list_lists_nothing(
    tmp_path: Path, form: object
) -> None:
    store = build_store(tmp_path)
    path = write_answers(tmp_path, [ANSWERS[0] | {"form": form}])
    [receipt] = taken(store, path).receipts
    assert (receipt.rows_read, receipt.rejected) == (1, 1)
    assert [row[:2] for row in rejected(store)] == [(1, "no_setting_code")]


# A record's rows have one number, so that all of it is rejected, once.
@pytest.mark.parametrize(
    ("own", "answer", "said"),
    [
        ({}, {"Result": "x"}, "form.answers.Item: blank, expected what 'x' is"),
        ({"Anchor": " "}, {}, "Anchor: blank, expected which anchor it is"),
    ],
)
def test_a_json_record_that_lists_amiss_is_rejected(
    tmp_path: Path, own: dict[str, object], answer: dict[str, object], said: str
) -> None:
    first = ANSWERS[0] | own
    answers = [*ANSWERS[0]["form"]["answers"], answer]  # type: ignore[index]
    store = build_store(tmp_path)
    path = write_answers(tmp_path, [first | {"form": {"answers": answers}}])
    [receipt] = taken(store, path).receipts
    assert (receipt.rows_read, receipt.rejected) == (1, 1)
    assert rejected(store) == [(1, "unreadable_line", said)]
