"""Rows with more cells than columns, as of a text with a comma: given back and mended.

Expected by hand, from the manual's sentence on `firmset surplus`.
"""

from pathlib import Path

import pytest

from etl.intake import IntakeResult
from queries.readers.intake import read_rejects
from queries.store import Store
from tests.builders import build_store, load
from tests.etl.correcting import given_back, open_rejects, sent_again

MAP = """
[site]
code = "STRAY"
name = "Invented site with comments"
time_zone = "Europe/Lisbon"
[files]
match = "stray.csv"
delimiter = "{sign}"
decimal = "{decimal}"
[columns]
record_id = "No"
installed_on = "Day"
crew_code = "Crew"
note = "Remark"
setting_code = "Code"
hole_depth_mm = "Depth"
"""
HEADER = ["No", "Day", "Crew", "Remark", "Code", "Depth"]
WORDS = {",": "a text with a comma in it", ";": "a text with a semicolon in it"}


def load_stray(folder: Path, sign: str) -> tuple[Store, IntakeResult]:
    """Load a log whose second remark is "hit rebar, moved" with that sign in it."""
    store = build_store(folder)
    decimal = "," if sign == ";" else "."
    text = MAP.format(sign=sign, decimal=decimal)
    (folder / "stray.toml").write_text(text, "utf-8")
    rows = [
        HEADER,
        ["1", "2026-05-04", "C1", '"wet"', "M12-68", f"92{decimal}5"],
        ["2", "2026-05-04", "C1", f"hit rebar{sign} moved", "M12-68", f"91{decimal}5"],
    ]
    path = folder / "stray.csv"
    path.write_text("\n".join(sign.join(row) for row in rows), "utf-8")
    return store, load(store, path)


def held(store: Store) -> list[tuple[object, ...]]:
    with store.reader() as con:
        found = con.execute(
            "select record_id, note, hole_depth_mm from installation order by all"
        )
        return found.fetchall()


@pytest.mark.parametrize("sign", [",", ";"])
def test_cells_come_back_in_their_columns_and_the_rest_apart(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], sign: str
) -> None:
    store, result = load_stray(tmp_path, sign)
    assert [receipt.rejected for receipt in result.receipts] == [1]
    with store.reader() as con:
        [reject] = read_rejects(con).to_dicts()
    assert reject["reason"] == (
        "7 cells, more than the 6 columns of the header: "
        f"{WORDS[sign]} needs quotes around it"
    )
    [row] = given_back(store, capsys)
    # Everything behind the text has moved a column to the right, the depth beyond it.
    assert [row[name] for name in HEADER] == [
        *("2", "2026-05-04", "C1", "hit rebar", " moved", "M12-68")
    ]
    depth = row["firmset surplus"]
    assert depth == ("91,5" if sign == ";" else "91.5")
    mended = row | {"Remark": f"hit rebar{sign} moved", "Code": "M12-68"}
    mended |= {"Depth": depth, "firmset surplus": ""}
    [receipt] = sent_again(store, tmp_path / "mend.csv", [mended]).receipts
    assert (receipt.loaded, receipt.rejected) == (1, 0)
    assert open_rejects(store) == []
    assert held(store) == [
        ("1", "wet", 92.5),
        ("2", f"hit rebar{sign} moved", 91.5),
    ]


@pytest.mark.parametrize("sign", [",", ";"])
def test_a_row_that_nobody_put_right_stays_rejected(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], sign: str
) -> None:
    """Its setting code alone is mended: the depth would be a setting code's cell."""
    store, _ = load_stray(tmp_path, sign)
    [row] = given_back(store, capsys)
    half = row | {"Code": "M12-68"}
    for name in ("half.csv", "again.csv"):
        [receipt] = sent_again(store, tmp_path / name, [half]).receipts
        assert (receipt.loaded, receipt.rejected) == (0, 1)
        assert open_rejects(store) == [(name, 2)]
        [half] = given_back(store, capsys)
        kept = ["No", "Crew", "Remark", "Code", "firmset surplus"]
        assert [half[key] for key in kept] == [
            *("2", "C1", "hit rebar", "M12-68", row["firmset surplus"])
        ]
        half |= {"Day": f"{half['Day']} "}  # The same bytes again are no other file.
    assert len(held(store)) == 1


def test_a_line_that_has_no_cells_is_mended_in_their_columns(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store, _ = load_stray(tmp_path, ",")
    path = tmp_path / "stray.csv"
    path.write_text(f'{",".join(HEADER)}\n3,2026-05-04,C1,"x,M12-68,92\n', "utf-8")
    load(store, path)
    row = given_back(store, capsys)[-1]
    assert row["firmset surplus"] == '3,2026-05-04,C1,"x,M12-68,92'
    mended = row | dict(
        zip(HEADER, ["3", "2026-05-04", "C1", "x", "M12-68", "92"], strict=True)
    )
    [receipt] = sent_again(store, tmp_path / "mend.csv", [mended]).receipts
    assert (receipt.loaded, receipt.rejected) == (1, 0)
