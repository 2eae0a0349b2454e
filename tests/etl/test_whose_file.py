"""One file under two sites: its anchors would be counted twice, so it is asked about.

Expected by hand, from the site maps that each test writes.
"""

from pathlib import Path

import pytest

from etl.unload import unload
from queries.store import Store
from tests.builders import NOW, Row, build_store, load, write_log
from tests.etl.correcting import given_back, sent_again
from tests.etl.one_column_more import remarks_on
from tests.etl.test_workbook_parts import MONDAY, TUESDAY, write_week

ROWS: list[Row] = [{"record_id": "R1"}, {"record_id": "R2", "crew_code": ""}]
QUESTION = (
    "the same file is held for site SITE-1, as receipt 2: a question whose it is; its "
    "anchors now count for both. If it is not SITE-1's, firmset unload 2"
)


def asked_of(store: Store, folder: Path, site: str) -> list[str]:
    """Load SITE-1's file as another site's, byte for byte; return what is asked."""
    write_log(folder, ROWS, site=site)
    (receipt,) = load(store, folder).receipts
    assert receipt.site_code == site
    return [remark for remark in receipt.remarks if "whose it is" in remark]


def test_the_same_file_for_another_site_is_asked_about(tmp_path: Path) -> None:
    store = build_store(tmp_path, ROWS)
    assert asked_of(store, tmp_path / "SITE-2", "SITE-2") == [QUESTION]
    # Once SITE-1's is taken back, only SITE-2's is left for a third.
    unload(store, 2, now=NOW)
    (question,) = asked_of(store, tmp_path / "SITE-3", "SITE-3")
    assert "held for site SITE-2, as receipt 3" in question


def test_a_file_that_was_taken_back_is_not_asked_about(tmp_path: Path) -> None:
    store = build_store(tmp_path, ROWS)
    unload(store, 2, now=NOW)
    assert asked_of(store, tmp_path / "SITE-2", "SITE-2") == []


def test_each_site_is_asked_once(tmp_path: Path) -> None:
    store = build_store(tmp_path, ROWS)
    folder = tmp_path / "SITE-2"
    assert asked_of(store, folder, "SITE-2") == [QUESTION]
    (site_map,) = folder.glob("*.toml")
    site_map.write_text(site_map.read_text("utf-8") + "# another text\n", "utf-8")
    (again,) = load(store, folder).receipts
    assert again.is_new
    assert not [one for one in again.remarks if "whose" in one]


# Two sites in one workbook, a sheet each: the files are the same, the anchors are not.
def test_a_sheet_each_is_not_asked_about(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}])
    remarks = []
    site_map = write_week(tmp_path / "week", sheet='"DAY"').parent / "week.toml"
    text = site_map.read_text("utf-8")
    for day, rows in (("Mon", MONDAY), ("Tue", TUESDAY)):
        site_map.write_text(text.replace("DAY", day).replace("WEEKLY", day), "utf-8")
        (receipt,) = load(store, site_map.parent).receipts
        assert (receipt.site_code, receipt.loaded) == (day.upper(), len(rows))
        remarks += receipt.remarks
    assert not [one for one in remarks if "whose" in one]


# What comes back to be corrected is of whatever sites it was rejected from.
def test_corrected_rows_of_several_sites_are_not_asked_about(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other: list[Row] = [{"record_id": "R3", "crew_code": "", "note": "other"}]
    store = build_store(tmp_path, sites={"SITE-1": ROWS, "SITE-2": other})
    rows = [row | {"crew_code": "C1"} for row in given_back(store, capsys)]
    first, second = sent_again(store, tmp_path / "mend.csv", rows).receipts
    assert {first.site_code, second.site_code} == {"SITE-1", "SITE-2"}
    assert not [one for one in first.remarks + second.remarks if "whose" in one]


def of_sites(folder: Path, words: list[str], header: str = "Project") -> list[str]:
    """Return what is asked of sites where one more column has a word a row."""
    remarks = remarks_on(folder, header, words)
    return [remark for remark in remarks if "several sites" in remark]


def test_a_file_of_several_sites_is_asked_about(tmp_path: Path) -> None:
    """What a company's export holds: each row would count for the map's one site."""
    (question,) = of_sites(tmp_path, ["Oak", "Larch", "", "Oak"])
    assert question == (
        "column 'Project' holds 2 words ('Oak' 2, 'Larch' 1): a question whether the "
        "file is of several sites; all of its rows now count for SITE-1. If it is, "
        "take it back with firmset unload, say in the site map [site] from = "
        '"Project" and under [sites] whose each word is, and load it again'
    )


@pytest.mark.parametrize(
    ("words", "header"),
    [
        (["Oak", "Oak", ""], "Project"),
        (["Oak", "Larch"], "Project"),  # No word comes again.
        ([f"Room {number % 13}" for number in range(26)], "Project"),
        (["Oak", "Larch", "Oak"], "Weather"),
    ],
)
def test_other_columns_are_not_asked_about(
    tmp_path: Path, words: list[str], header: str
) -> None:
    assert of_sites(tmp_path, words, header) == []
