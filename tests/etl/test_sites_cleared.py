"""Rejected rows of a log of several sites: what clears them, and what does not.

Expected by hand, from the rows that each test writes.
"""

import json
from pathlib import Path

import pytest
import xlsxwriter

from queries.errors import FirmsetError
from tests.builders import build_store, load
from tests.etl.company_logs import (
    HEADS,
    SITES,
    held,
    row,
    said,
    write_export,
    write_map,
    write_rows,
)
from tests.etl.correcting import given_back, open_rejects, sent_again


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

    def fail(_: object, receipt: object, part: str, _sheet: object) -> None:
        if "QUAY3" in part:
            raise FirmsetError(f"{part}: invented")

    monkeypatch.setattr("etl.load.require_not_held_otherwise", fail)
    result = sent_again(store, tmp_path / "mend.csv", mended)
    assert result.failures == (" [site QUAY3]: invented",)
    assert open_rejects(store) == [("export.csv [site QUAY3]", 3)]
