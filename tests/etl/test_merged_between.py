"""A merged cell does not begin in a row that is none of the table's.

Expected by hand: the crew of each anchor is the one merged beside it, whatever stands
under "Kolonne" between the rows.
"""

from pathlib import Path

import pytest

from tests.builders import build_store, load, write_csv

MAP = """
[site]
code = "PRINTED"
name = "Invented site with printed lists"
time_zone = "Europe/Berlin"
[files]
match = "list*"
not_rows = ["Unterschrift"]
[dates]
format = "%d.%m.%Y"
[columns]
record_id = "Nr"
installed_on = {from = "Datum", fill_down = true}
crew_code = {from = "Kolonne", fill_down = true}
setting_code = "Code"
"""
HEADER = ("Nr", "Datum", "Kolonne", "Code")
HEAD = ("1", "04.05.2026", "K1", "M12-68")
TAIL = [("2", "", "", "M12-68"), ("3", "05.05.2026", "K2", "M12-68")]


@pytest.mark.parametrize(
    "between",
    [
        HEADER,
        ("Summe", "", "3 Stück", ""),
        ("Unterschrift", "", "Meier", ""),
        ("", "", "", ""),
    ],
)
def test_what_stands_between_the_rows_fills_nothing(
    tmp_path: Path, between: tuple[str, ...]
) -> None:
    (tmp_path / "list.toml").write_text(MAP, "utf-8")
    rows = [dict(zip(HEADER, row, strict=True)) for row in (HEAD, between, *TAIL)]
    store = build_store(tmp_path)
    [receipt] = load(store, write_csv(tmp_path / "list.csv", rows)).receipts
    assert receipt.loaded == 3
    with store.reader() as con:
        held = con.execute(
            "select record_id, installed_on::varchar, crew_code from installation "
            "order by record_id"
        ).fetchall()
        said = con.execute("select raw_text from rejected_row").fetchall()
    assert held == [
        ("1", "2026-05-04", "K1"),
        ("2", "2026-05-04", "K1"),
        ("3", "2026-05-05", "K2"),
    ]
    # Given back as it was written, without the crew above.
    assert [between[2] in text and "K1" not in text for (text,) in said] == [
        True for _ in said
    ]
