"""A log of several sites: each site's rows are a part of it, with a receipt.

Expected by hand, from the rows that each test writes; of the property, what the same
rows give that were split by hand into a file for each site.
"""

import json
from pathlib import Path

import polars as pl
import pytest
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st

from etl.intake import IntakeResult
from etl.rehearse import rehearse
from etl.unload import unload
from queries.errors import FirmsetError
from queries.store import Store
from tests.builders import NOW, build_store, load
from tests.etl.company_logs import HEADS, SITES, Rows, row, write_map, write_rows
from tests.etl.correcting import given_back, open_rejects, sent_again
from tests.examples import examples

EXPORT = [
    row(1, "Harbour hall"),
    row(2, "Harbour hall", Depth="91"),
    row(1, "Quay 3", Depth="93"),
    row(2, "Harbor hall", Depth="94"),
    ["Total", "Total", "", "", "", "370"],
]


def write_export(folder: Path, rows: Rows = EXPORT, sites: str = SITES) -> Path:
    write_map(folder, sites=sites)
    return write_rows(folder / "export.csv", rows)


def said(result: IntakeResult) -> list[tuple[str, str | None, int, int, int]]:
    return [
        (one.file_name, one.site_code, one.rows_read, one.loaded, one.rejected)
        for one in result.receipts
    ]


def held(store: Store) -> list[tuple[object, ...]]:
    with store.reader() as con:
        return con.execute(
            "select site_code, record_id, hole_depth_mm from installation order by all"
        ).fetchall()


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


def test_a_map_that_learns_a_word_clears_its_rows(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    path = write_export(tmp_path / "a")
    load(store, path)
    assert open_rejects(store) == [("export.csv [no site]", 5)]
    write_map(tmp_path / "a", sites=SITES + '"Harbor hall" = "HARBOUR"')
    # Number 2 of the site is held already, with another depth.
    [harbour, *_] = load(store, path).receipts
    assert (harbour.duplicate, harbour.rejected) == (2, 1)
    assert open_rejects(store) == [("export.csv [site HARBOUR]", 5)]


@pytest.mark.parametrize(
    ("later", "is_cleared"),
    [
        # The word is right now, in a further export with all rows.
        (row(9, "Quay 3", Depth="94"), True),
        # Another anchor of the same number.
        (row(9, "Quay 3", Depth="90"), False),
        (row(8, "Quay 3", Depth="94"), False),
    ],
)
def test_a_row_that_comes_again_at_its_site_is_cleared(
    tmp_path: Path, later: list[str], is_cleared: bool
) -> None:
    store = build_store(tmp_path)
    load(store, write_export(tmp_path / "a", [row(9, "Quay", Depth="94")]))
    [of_none] = open_rejects(store)
    load(store, write_rows(tmp_path / "a" / "export2.csv", [later]))
    assert open_rejects(store) == ([] if is_cleared else [of_none])


def test_a_row_of_no_site_that_comes_again_is_open_once(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    rows = [row(9, "Quay", Depth="94")]
    load(store, write_export(tmp_path / "a", rows))
    load(store, write_rows(tmp_path / "a" / "export2.csv", [row(1, "Quay 3"), *rows]))
    assert open_rejects(store) == [("export2.csv [no site]", 3)]


# Row 2 of one sheet is of no site, that of the other is of one.
def test_a_row_of_no_site_in_a_sheet_stays_open(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    path = tmp_path / "a" / "export.xlsx"
    write_map(path.parent, files='sheet = "M*"')
    with xlsxwriter.Workbook(path) as book:
        for name, project in (("Mo", "Moor"), ("Mi", "Quay 3")):
            sheet = book.add_worksheet(name)
            sheet.write_row(0, 0, HEADS)
            sheet.write_row(1, 0, row(1, project, Depth=f"9{len(project)}"))
    load(store, path)
    assert open_rejects(store) == [("export.xlsx [Mo] [no site]", 2)]
    write_map(path.parent, files='sheet = "M*"', sites=SITES + '"Moor" = "MOOR"')
    load(store, path)
    assert open_rejects(store) == []


# A later export of other bytes, in lines of JSON; NaN is in no standard of it.
def test_a_line_of_no_site_that_comes_again_is_cleared(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    write_map(tmp_path / "a")
    for name, project in (("export1.jsonl", "Quay"), ("export2.jsonl", "Quay 3")):
        lines = [
            json.dumps(dict(zip(HEADS, row(number, project), strict=True)))
            for number in (1, 2)
        ]
        lines[1] = lines[1].replace('"92"', "NaN")
        (tmp_path / "a" / name).write_text("\n".join(lines), "utf-8")
        assert load(store, tmp_path / "a" / name).failures == ()
        assert len(open_rejects(store)) == (2 if project == "Quay" else 0)


def test_a_row_of_no_site_is_corrected(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path)
    rows = [
        row(1, "Nowhere"),
        row(2, "", Depth="90"),
        row(3, "Quay 3", Crew=""),
        row(4, "Nowhere"),
    ]
    load(store, write_export(tmp_path / "a", rows))
    sent = {one["No"]: one for one in given_back(store, capsys)}
    mended = [
        sent["1"] | {"Project": "QUAY3"},
        sent["2"] | {"Project": "Harbour Hall"},
        sent["3"] | {"Crew": "K1"},
        sent["4"],
    ]
    result = sent_again(store, tmp_path / "mend.csv", mended)
    assert said(result) == [
        ("mend.csv [site HARBOUR]", "HARBOUR", 1, 1, 0),
        ("mend.csv [site QUAY3]", "QUAY3", 2, 2, 0),
        ("mend.csv [no site]", None, 1, 0, 1),
    ]
    assert held(store) == [
        *[("HARBOUR", "2", 90.0), ("QUAY3", "1", 92.0), ("QUAY3", "3", 92.0)]
    ]
    assert open_rejects(store) == [("mend.csv [no site]", 5)]


def test_nothing_is_filled_down_among_corrected_rows(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path)
    write_map(tmp_path / "a", site="fill_down = true")
    rows = [row(1, ""), row(1, "Quay 3", Crew=""), row(2, "", Crew="")]
    load(store, write_rows(tmp_path / "a" / "export.csv", rows))
    [first, second, of_none] = given_back(store, capsys)
    # The merged cell's value stands in each of its rows.
    assert (first["Project"], second["Project"]) == ("Quay 3", "Quay 3")
    sent = [first | {"Crew": "K1"}, of_none, second | {"Crew": "K1"}]
    result = sent_again(store, tmp_path / "mend.csv", sent)
    assert [(one.site_code, one.loaded) for one in result.receipts] == [
        *[("QUAY3", 2), (None, 0)]
    ]


def test_a_site_that_fails_keeps_its_rejected_rows_open(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    store = build_store(tmp_path)
    rows = [row(1, "Harbour hall", Crew=""), row(1, "Quay 3", Crew="")]
    load(store, write_export(tmp_path / "a", rows))
    mended = [one | {"Crew": "K1"} for one in given_back(store, capsys)]

    def fail(_: object, receipt: object, part: str) -> None:
        if "QUAY3" in part:
            raise FirmsetError(f"{part}: invented")

    monkeypatch.setattr("etl.load.require_not_held_otherwise", fail)
    result = sent_again(store, tmp_path / "mend.csv", mended)
    assert result.failures == (" [site QUAY3]: invented",)
    assert open_rejects(store) == [("export.csv [site QUAY3]", 3)]


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


cells = {
    "No": st.sampled_from(["1", "2", "3", "4", "", "Total"]),
    "Project": st.sampled_from(["Harbour hall", "QUAY 3", "HARBOUR", "Moor", ""]),
    "Day": st.sampled_from(["2026-05-04", "2026-05-05", "04.05.2026", "2999-01-01"]),
    "Crew": st.sampled_from(["K1", "k-01", ""]),
    "Code": st.sampled_from(["M12-68", "M12-68", "OTHER"]),
    "Depth": st.sampled_from(["92", "80", "9,2 cm", "deep", ""]),
}
tables = st.lists(
    st.tuples(*(cells[name] for name in HEADS)).map(list), min_size=1, max_size=8
)


@settings(**examples(12))
@given(rows=tables)
def test_a_log_of_sites_is_what_its_rows_are_site_by_site(
    tmp_path_factory: pytest.TempPathFactory, rows: Rows
) -> None:
    folder = tmp_path_factory.mktemp("split")
    whole, apart = build_store(folder / "whole"), build_store(folder / "apart")
    result = load(whole, write_export(folder / "a", rows))
    assert result.failures == ()
    filled = sum(any(one) for one in rows)
    assert sum(one.rows_read for one in result.receipts) == filled
    known = {"Harbour hall": "HARBOUR", "HARBOUR": "HARBOUR", "QUAY 3": "QUAY3"}
    for code in ("HARBOUR", "QUAY3"):
        of_site = [one for one in rows if known.get(one[1]) == code]
        if of_site:
            write_export(folder / code, of_site)
            load(apart, folder / code)
    assert _all_of(whole) == _all_of(apart)


LOADED = """
select * exclude (source_file_id, source_row) from installation
where site_code in ('HARBOUR', 'QUAY3') order by all
"""
REJECTED = """
select site_code, reason_code, reason, raw_text from rejected_row
inner join source_file using (source_file_id)
where site_code is not null order by all
"""
FAULTS = """
select site_code, column_name, raw_value, reason from field_fault
inner join source_file using (source_file_id)
order by all
"""


def _all_of(store: Store) -> list[object]:
    with store.reader() as con:
        return [con.execute(sql).fetchall() for sql in (LOADED, REJECTED, FAULTS)]
