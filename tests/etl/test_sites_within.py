"""A log of several sites: each site's rows are a part of it, with a receipt.

Expected by hand, from the rows that each test writes.
"""

import json
from pathlib import Path

import polars as pl
import pytest
import xlsxwriter

from etl.rehearse import rehearse
from etl.unload import unload
from tests.builders import NOW, build_store, load
from tests.etl.company_logs import (
    EXPORT,
    HEADS,
    SITES,
    Rows,
    held,
    row,
    said,
    write_export,
    write_map,
    write_rows,
)

HELD = [("HARBOUR", "1", 92.0), ("HARBOUR", "2", 91.0), ("QUAY3", "1", 93.0)]


def test_each_site_has_its_rows_and_a_receipt(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    result = load(store, write_export(tmp_path / "a"))
    assert said(result) == [
        ("export.csv [site HARBOUR]", "HARBOUR", 2, 2, 0),
        ("export.csv [site QUAY3]", "QUAY3", 1, 1, 0),
        ("export.csv [no site]", None, 2, 0, 2),
    ]
    assert held(store) == HELD
    of_none = result.receipts[-1]
    # The total is no installation; of the other row the remark names the word.
    assert of_none.settled == 1
    assert of_none.remarks[0] == (
        "rows of no site that the map has: 'Harbor hall' (1); write a line for each "
        "under [sites], and load the file again"
    )
    expected = (
        "Project: 'Harbor hall', expected a word of [sites] in the site map: Harbour "
        "hall, Quay 3"
    )
    with store.reader() as con:
        assert con.execute(
            "select source_row, reason_code, reason from rejected_row order by 1"
        ).fetchall() == [
            (5, "unknown_site", expected),
            (6, "footer_total", "a total of the rows above, no installation"),
        ]
        assert con.execute(
            "select site_code, site_name, time_zone from site "
            "where site_code in ('HARBOUR', 'QUAY3') order by 1"
        ).fetchall() == [
            ("HARBOUR", "Harbour sheds", "Europe/Lisbon"),
            ("QUAY3", "Quay 3", "Europe/Lisbon"),
        ]


# As a crew's code is: what is not as the map has it, but for capitals and blanks.
def test_another_spelling_of_a_word_is_listed(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    words = ("Quay 3", "quay-03", "QUAY 3", "quay3")
    rows = [row(number, word) for number, word in enumerate(words, start=1)]
    [quay] = load(store, write_export(tmp_path / "a", rows)).receipts
    assert [one for one in quay.remarks if one.startswith("Project")] == [
        "Project 'quay-03' read as QUAY3"
    ]


def as_json_lines(rows: Rows, path: Path) -> None:
    lines = [json.dumps(dict(zip(HEADS, one, strict=True))) for one in rows]
    path.write_text("\n".join(lines), "utf-8")


def as_parquet(rows: Rows, path: Path) -> None:
    frame = pl.DataFrame(rows, schema=dict.fromkeys(HEADS, pl.String), orient="row")
    frame.write_parquet(path)


def as_workbook(rows: Rows, path: Path) -> None:
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet()
        for number, one in enumerate([HEADS, *rows]):
            sheet.write_row(number, 0, one)


@pytest.mark.parametrize(
    ("name", "write"),
    [
        ("export.jsonl", as_json_lines),
        ("export.parquet", as_parquet),
        ("export.xlsx", as_workbook),
    ],
)
def test_sites_are_told_apart_in_every_format(
    tmp_path: Path, name: str, write: object
) -> None:
    store = build_store(tmp_path)
    write_map(tmp_path / "a")
    assert callable(write)
    write(EXPORT, tmp_path / "a" / name)
    result = load(store, tmp_path / "a" / name)
    assert [one.rows_read for one in result.receipts] == [2, 1, 2]
    assert held(store) == HELD


# What says whose the rows are: a title above them, the file's name, or the sheet's.
def test_a_title_names_the_site(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    files = 'header_row = 3\ntitles = ["Project"]'
    write_map(tmp_path / "a", files=files)
    heads = [name for name in HEADS if name != "Project"]
    cells = [cell for cell in row(7, "") if cell]
    for name, project in (
        ("export 1.csv", "Quay 3"),
        ("export 2.csv", "harbour  HALL"),
    ):
        lines = [f"Project: {project}", "", ",".join(heads), ",".join(cells)]
        (tmp_path / "a" / name).write_text("\n".join(lines), "utf-8")
    result = load(store, tmp_path / "a")
    assert [one.file_name for one in result.receipts] == [
        *("export 1.csv [site QUAY3]", "export 2.csv [site HARBOUR]")
    ]
    assert held(store) == [("HARBOUR", "7", 92.0), ("QUAY3", "7", 92.0)]


@pytest.mark.parametrize(
    ("files", "match", "part"),
    [
        ("", "{Project}.xlsx", "Quay 3.xlsx"),
        ('sheet = "{Project}"', "export.xlsx", "export.xlsx [Quay 3]"),
    ],
)
def test_a_name_names_the_site(
    tmp_path: Path, files: str, match: str, part: str
) -> None:
    store = build_store(tmp_path)
    write_map(tmp_path / "a", files=files, match=match)
    heads = [name for name in HEADS if name != "Project"]
    path = tmp_path / "a" / part.partition(" [")[0]
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("Quay 3")
        sheet.write_row(0, 0, heads)
        sheet.write_row(1, 0, [cell for cell in row(7, "") if cell])
    assert said(load(store, path)) == [(f"{part} [site QUAY3]", "QUAY3", 1, 1, 0)]


def test_merged_cells_are_filled_down_before_the_sites_are_told_apart(
    tmp_path: Path,
) -> None:
    store = build_store(tmp_path)
    # The second crew's cell is merged over the rows of two sites, and so are those of
    # the sites over their rows. Another spelling of it stands at the second site only.
    rows = [
        row(1, "Harbour hall", Crew="K1"),
        row(2, "", Crew="K2"),
        row(1, "Quay 3", Crew=""),
        row(2, "", Crew=""),
        row(3, "", Crew="K-02"),
    ]
    write_map(
        tmp_path / "a",
        site="fill_down = true",
        crew='{from = "Crew", fill_down = true}',
    )
    result = load(store, write_rows(tmp_path / "a" / "export.csv", rows))
    assert [one.loaded for one in result.receipts] == [2, 3]
    with store.reader() as con:
        assert con.execute(
            "select site_code, record_id, crew_code from installation order by all"
        ).fetchall() == [
            *[("HARBOUR", "1", "K1"), ("HARBOUR", "2", "K-02")],
            *[("QUAY3", number, "K-02") for number in ("1", "2", "3")],
        ]


# The clock of 2026-03-29 skips 2:00 to 3:00 in Paris and 1:00 to 2:00 in Lisbon (IANA
# time zone database), so that half past two is a time in one and none in the other.
def test_each_site_has_its_clock(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    sites = SITES + '"Mill" = {code = "MILL", time_zone = "Europe/Paris"}'
    path = write_export(
        tmp_path / "a",
        [row(1, project, Day="2026-03-29 02:30") for project in ("Mill", "Quay 3")],
        sites,
    )
    site_map = path.with_name("company.toml")
    text = site_map.read_text("utf-8").replace("installed_on", "installed_at")
    site_map.write_text(text, "utf-8")
    load(store, path)
    with store.reader() as con:
        assert con.execute(
            "select site_code, installed_at is null from installation order by 1"
        ).fetchall() == [("MILL", True), ("QUAY3", False)]


def test_the_same_export_again_brings_nothing_new(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    path = write_export(tmp_path / "a")
    load(store, path)
    again = load(store, path)
    assert [one.is_new for one in again.receipts] == [False] * 3
    assert again.edition_id is None
    assert held(store) == HELD


def test_one_site_is_taken_back_alone(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    path = write_export(tmp_path / "a")
    [harbour, *_] = load(store, path).receipts
    unload(store, harbour.source_file_id, now=NOW)
    assert held(store) == HELD[2:]
    assert [one.loaded for one in load(store, path).receipts] == [2, 0, 0]
    assert held(store) == HELD


def test_rows_that_are_held_for_another_site_are_refused(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    blank = [""] * len(HEADS)
    path = write_export(tmp_path / "a", [*EXPORT[:3], blank])
    [_, quay] = load(store, path).receipts
    write_map(tmp_path / "a", sites=SITES.replace('"QUAY3"', '"PIER"'))
    result = load(store, path)
    assert [one.is_new for one in result.receipts] == [True]
    [failure] = result.failures
    assert failure == (
        f"export.csv [site PIER]: is held as receipt {quay.source_file_id} for site "
        "QUAY3, record 1 among them; take that back first, or its anchors would be "
        f"counted twice: firmset unload {quay.source_file_id}"
    )
    unload(store, quay.source_file_id, now=NOW)
    load(store, path)
    assert held(store) == [*HELD[:2], ("PIER", "1", 93.0)]


def test_so_are_those_of_a_sheet(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    path = tmp_path / "a" / "export.xlsx"
    for code, ends in (("QUAY3", [2, 2]), ("PIER", [])):
        sites = SITES.replace('"QUAY3"', f'"{code}"')
        write_map(path.parent, sites=sites, files='sheet = "M*"')
        with xlsxwriter.Workbook(path, {"constant_memory": True}) as book:
            book.set_properties({"created": NOW})
            for name in ("Mo", "Mi"):
                sheet = book.add_worksheet(name)
                for place, cells in enumerate(
                    [HEADS, row(1, "Quay 3"), row(2, "Quay 3")]
                ):
                    sheet.write_row(place, 0, [*cells, name])
        result = load(store, path)
        assert [one.rows_read for one in result.receipts] == ends
    assert "is held as receipt" in result.failures[0]


def test_a_file_that_was_of_one_site_is_refused_to_the_others(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    path = write_export(tmp_path / "a", EXPORT[1:3])
    site_map = path.with_name("company.toml")
    of_several = site_map.read_text("utf-8")
    one = '[site]\ncode = "HARBOUR"\nname = "Harbour"\ntime_zone = "Europe/Lisbon"\n'
    site_map.write_text(one + of_several[of_several.index("[files]") :], "utf-8")
    [whole] = load(store, path).receipts
    assert whole.loaded == 2
    site_map.write_text(of_several, "utf-8")
    result = load(store, path)
    # Its own row is there already; the other's is counted for the wrong site.
    assert [(one.site_code, one.duplicate) for one in result.receipts] == [
        *[("HARBOUR", 1)]
    ]
    assert f"firmset unload {whole.source_file_id}" in result.failures[0]


def test_a_dry_run_lists_each_word_once(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    rows = [row(1, "Moor"), row(2, "Moor"), row(1, "Heath")]
    reasons = rehearse(store, [write_export(tmp_path / "a", rows)], now=NOW).by_reason()
    assert reasons.select("row_count", "source_row").rows() == [(2, 2), (1, 4)]


def test_a_map_of_several_sites_and_one_of_a_site_are_not_for_one_file(
    tmp_path: Path,
) -> None:
    store = build_store(tmp_path)
    path = write_export(tmp_path / "a")
    site_map = write_map(tmp_path / "a", name="b.toml")
    text = site_map.read_text("utf-8")
    one = '[site]\ncode = "HARBOUR"\nname = "Harbour"\ntime_zone = "Europe/Lisbon"\n'
    site_map.write_text(one + text[text.index("[files]") :], "utf-8")
    [failure] = load(store, path).failures
    assert "are of different sites" in failure


def test_a_map_for_a_new_format_has_its_own_sites(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    write_map(tmp_path / "a")
    write_map(
        tmp_path / "a",
        sites=SITES + '"Mill" = "MILL"',
        files="valid_from = 2026-06-01",
        name="later.toml",
    )
    rows = [row(1, "Mill"), row(1, "Quay 3")]
    result = load(store, write_rows(tmp_path / "a" / "export_2026-06-02.csv", rows))
    assert [one.site_code for one in result.receipts] == ["QUAY3", "MILL"]
