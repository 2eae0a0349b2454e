"""Titles between the rows, and rows that only look like one.

Expected by hand: no row may keep the crew of a title past the next one.
"""

from collections.abc import Sequence
from pathlib import Path

import duckdb
import pytest

from etl.load import load_log
from etl.receipt import Receipt
from etl.site_map import read_site_map
from tests.builders import NOW

Ledger = duckdb.DuckDBPyConnection

MAP = """
[site]
code = "{site}"
name = "Invented site with sections"
time_zone = "Europe/Lisbon"
[files]
match = "*"
titles = ["{title}"]
{files}
[columns]
record_id = "No"
installed_on = "Day"
crew_code = "{title}"
setting_code = {{always = "M12-68"}}
note = "Note"
"""


def load_sections(
    con: Ledger,
    folder: Path,
    rows: Sequence[str],
    *,
    title: str = "Crew",
    files: str = "",
) -> tuple[Receipt, dict[str, str]]:
    """Return the receipt of a log, as a site of its own, and the crew by record."""
    [(number,)] = con.execute("select count(*) from source_file").fetchall()
    site_map = folder / "map.toml"
    text = MAP.format(site=f"S{number}", title=title, files=files)
    site_map.write_text(text, "utf-8")
    log = folder / "log.csv"
    log.write_text("\n".join(rows), "utf-8")
    [receipt] = load_log(con, log, read_site_map(site_map), NOW)
    crews = con.execute(
        "select record_id, crew_code from installation where site_code = ?",
        [receipt.site_code],
    ).fetchall()
    return receipt, dict(crews)


def sections(first: str, second: str) -> list[str]:
    """Return a log of two anchors, each under a row of its own."""
    anchors = ["1,2026-05-04,", "2,2026-05-04,"]
    return ["No,Day,Note", first, anchors[0], second, anchors[1]]


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("Level 1 - Crew 2", "Level 2 - Crew 3"),
        ("Crew 2", "CREW 3"),
        ("Level 1,,Crew 2", "Level 2,,Crew: 3"),
        ("Level 1 - Crew,,2", "East wing,,Crew 3"),
    ],
)
def test_a_title_may_stand_behind_other_words(
    ledger: Ledger, tmp_path: Path, first: str, second: str
) -> None:
    receipt, crews = load_sections(ledger, tmp_path, sections(first, second))
    assert crews == {"1": "2", "2": "3"}
    assert receipt.remarks[0] == "2 rows are titles of those below"
    assert receipt.settled == 2


@pytest.mark.parametrize(
    ("title", "first", "second"),
    [
        ("Level 1 - Crew", "Level 1 - Crew 2", "Level 2 - Crew 3"),
        ("Level 1 - Crew", "Level 1 - Crew 2", "Level 2 - Crew East"),
        ("Crew", "Level 1 - Crew 2", "Level 2 - Gang 3"),
        ("Crew", "Level 1 - Crew 2", "Level 2"),
        ("Crew", "Crew 2", "Crew3"),
        ("Crew", "Crew 2", "Night crew 3"),
        ("Crew", "Crew 2", "Crew: "),
    ],
)
def test_past_a_title_that_cannot_be_read_none_holds(
    ledger: Ledger, tmp_path: Path, title: str, first: str, second: str
) -> None:
    rows = sections(first, second)
    receipt, crews = load_sections(ledger, tmp_path, rows, title=title)
    assert crews == {"1": "2"}
    assert (receipt.rows_read, receipt.loaded, receipt.rejected) == (4, 1, 3)
    # Of a title with nothing behind it that is plain to see.
    assert (f"4 ({second!r})" in str(receipt.remarks)) is not second.endswith(": ")


@pytest.mark.parametrize(
    "second",
    [
        "Night crew Smith",
        "Signed by the crew leader:",
        "Gang 3",
        "Bay 4",
        "K3",
        "5.5.2026",
        "Gang 3,,as above",
    ],
)
def test_a_row_alone_is_asked_about(
    ledger: Ledger, tmp_path: Path, second: str
) -> None:
    rows = sections("Crew 2", second)
    receipt, crews = load_sections(ledger, tmp_path, rows)
    assert crews == {"1": "2", "2": "2"}
    [asked] = [one for one in receipt.remarks if "a question whether the title" in one]
    assert f"4 ({second.replace(',,', ' - ')!r})" in asked
    # At the foot of the log no row is concerned; and the map may say what it is.
    said = f'not_rows = ["{second[:6]}"]'
    for those, files in ((rows[:-1], ""), (rows, said)):
        receipt, _ = load_sections(ledger, tmp_path, those, files=files)
        assert "a question whether the title" not in str(receipt.remarks)


def test_the_receipt_lists_what_titles_say(ledger: Ledger, tmp_path: Path) -> None:
    # A note that begins with the title's word is read as one: it must be seen.
    rows = [
        *sections("Crew 2", "Crew 3"),
        *("Crew 2", "3,2026-05-04,"),
        *("Crew Red off sick", "4,2026-05-04,"),
    ]
    receipt, _ = load_sections(ledger, tmp_path, rows)
    assert receipt.remarks[:2] == [
        "4 rows are titles of those below",
        "titles of Crew: '2' (row 2), '3' (row 4), 'Red off sick' (row 8)",
    ]


@pytest.mark.parametrize(
    ("second", "files"),
    [
        ("Subtotal crew 2,,1", ""),
        ("No,Day,Note", ""),
        ("NO,day,note", ""),
        ("7,,Crew 3 was here", ""),
        ("3,,", ""),
        ("Crew3 seen", 'not_rows = ["Crew3"]'),
    ],
)
def test_other_rows_leave_a_title_as_it_is(
    ledger: Ledger, tmp_path: Path, second: str, files: str
) -> None:
    rows = sections("Crew 2", second)
    receipt, crews = load_sections(ledger, tmp_path, rows, files=files)
    assert crews == {"1": "2", "2": "2"}
    assert receipt.remarks[0] == "1 row is a title of those below"
    assert "question" not in str(receipt.remarks)
