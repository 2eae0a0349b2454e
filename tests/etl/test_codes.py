"""One code in several spellings is one code, and the receipt says so."""

from itertools import combinations, permutations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from etl.codes import key_as_today
from etl.ledger import open_ledger
from etl.receipt import Receipt
from etl.spelling import code_key, plain_spelling, preferred
from queries.store import Store
from tests.builders import Row, build_store, load, write_csv, write_log


@pytest.mark.parametrize(
    "spelling",
    ["C-07", "c07", "C 7", " c-7", "C/007", "c_07", "C.7", "(C) 7", "C,7", "«C» 7-"],
)
def test_spellings_of_one_code(spelling: str) -> None:
    assert code_key(spelling) == "C7"


# Signs that look alike or cannot be seen; code points of the Unicode standard: no-break
# space, zero-width space, byte order mark, en dash, minus sign, full-width C, 0, 7.
ODD = {
    "C\u00a007": "[U+00A0]",
    "C\u200b-07": "[U+200B]",
    "\ufeffC-07": "[U+FEFF]",
    "C\u201307": "\u2013",
    "C\u221207": "\u2212",
    "\uff23-\uff10\uff17": "\uff23",
}


def test_what_cannot_be_seen_makes_no_other_code(tmp_path: Path) -> None:
    store, [_, *others] = in_files(tmp_path, "C-007", *ODD)
    assert stored(store, "crew_code", "installation") == ["C-007"]
    for (spelling, told), receipt in zip(ODD.items(), others, strict=True):
        assert code_key(spelling) == "C7"
        [remark] = receipt.remarks
        assert remark.startswith("crew_code ") and remark.endswith(" read as C-007")
        assert told in remark


# Only one such spelling, so that nothing better is known: it is stored as it is seen.
@pytest.mark.parametrize(
    ("spelling", "seen"),
    [
        ("C\u200b07", "C07"),
        ("C\u00a0\u00a007", "C 07"),
        ("\uff2307", "C07"),
        ("C\u201307", "C-07"),
        ("C\u221207", "C-07"),
    ],
)
def test_a_code_is_stored_as_it_is_seen(
    spelling: str, seen: str, tmp_path: Path
) -> None:
    store, [receipt] = in_files(tmp_path, spelling)
    assert stored(store, "crew_code", "installation") == [seen]
    assert receipt.remarks[0].endswith(f" read as {seen}")


# ASCII is seen by a shorter way; a sign without a width sends it the long one.
@given(*2 * [st.text(st.characters(codec="ascii"))])
def test_both_ways_to_see_a_code_agree(before: str, after: str) -> None:
    spelling = f"{before}C{after}"
    assert plain_spelling(spelling) == plain_spelling(f"{spelling}\u200b")


# A separator between digits tells codes apart; so do zeros that are not leading.
@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("1-23", "12-3"),
        ("A-1-23", "A123"),
        ("C70", "C7"),
        ("C0", "C"),
        ("AB", "A8"),
        # Signs that are no separators.
        ("Team A+", "Team A"),
        ("Team A+", "Team A-"),
        *combinations(["C1", "C+1", "C#1", "C*1", "C&1", "C|1", "C:1", "C@1"], 2),
        ("A|B", "AB"),
    ],
)
def test_codes_that_are_not_one(one: str, other: str) -> None:
    assert code_key(one) != code_key(other)


def test_a_code_of_separators_only_keeps_itself() -> None:
    assert code_key("#") == "#"


def test_the_preferred_spelling_is_the_longest_then_the_first() -> None:
    assert preferred(["C7", "C-07", "C 07", "C007"]) == "C 07"


def test_a_sign_makes_another_crew(tmp_path: Path) -> None:
    store, receipts = in_files(tmp_path, "Team A", "Team A+", "team a +", "Team A-")
    # Of the third the second is another spelling, of the fourth the first.
    assert stored(store, "crew_code", "installation") == ["TEAM A +", "TEAM A-"]
    assert [receipt.remarks for receipt in receipts[:2]] == [[], []]


# As a firmset before keyed them: without any sign.
def test_what_an_older_firmset_joined_stays_joined_and_no_more(tmp_path: Path) -> None:
    store, _ = in_files(tmp_path, "C#1", "D#1", "D1")
    with open_ledger(store) as con:
        con.execute(
            "update code_spelling set code_key = replace(code_key, '#', '') "
            "where column_name = 'crew_code'"
        )
        con.execute("update installation set crew_code = 'D#1' where crew_code = 'D1'")
        key_as_today(con)
    for spelling in ("C1", "C #1", "D1"):
        load(
            store,
            write_log(
                tmp_path / "again",
                [{"record_id": f"S{spelling}", "crew_code": spelling}],
                name=spelling,
            ),
        )
    # C1 and C#1 were never joined; D1 and D#1 were.
    assert stored(store, "crew_code", "installation") == ["C #1", "C1", "D#1"]


def in_files(tmp_path: Path, *spellings: str) -> tuple[Store, list[Receipt]]:
    """Load a file a spelling, in that order, each of one row by a crew spelled so."""
    store = build_store(tmp_path)
    paths = [
        write_log(
            tmp_path / str(number),
            [{"record_id": f"R{spelling}", "crew_code": spelling}],
            name=f"log{number}",
        )
        for number, spelling in enumerate(spellings)
    ]
    result = load(store, *paths)
    assert not result.failures
    return store, list(result.receipts)


def stored(store: Store, what: str, table: str) -> list[object]:
    with store.reader() as con:
        found = con.execute(f"select distinct {what} from {table} order by all")
        return [value for (value,) in found.fetchall()]


# C-07 is the longest spelling, so it is stored whatever came first.
@pytest.mark.parametrize("order", list(permutations(["C-07", "c07", "C7"])))
def test_crew_spellings_are_joined_in_any_order(
    tmp_path: Path, order: tuple[str, ...]
) -> None:
    store, _ = in_files(tmp_path, *order)
    assert stored(store, "crew_code", "installation") == ["C-07"]
    assert stored(store, "crew_code", "tally") == ["C-07"]


def test_the_receipt_lists_what_was_joined(tmp_path: Path) -> None:
    _, [_, second] = in_files(tmp_path, "C-07", "c07")
    assert second.remarks == ["crew_code C07 read as C-07"]


def test_spellings_within_one_file_are_joined(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{"crew_code": "c 7"}, {"crew_code": "C-07"}])
    assert stored(store, "crew_code", "installation") == ["C-07"]


# The site map's own word for a code is joined too.
def test_a_mapped_code_is_joined(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{"crew_code": "C-07"}])
    path = write_log(tmp_path, [{"record_id": "X", "crew_code": "Blue"}], name="blue")
    site_map = path.with_suffix(".toml")
    site_map.write_text(
        site_map.read_text("utf-8") + '\n[codes.crew_code]\nblue = "c7"\n', "utf-8"
    )
    load(store, path)
    assert stored(store, "crew_code", "installation") == ["C-07"]


def test_a_setting_code_takes_the_spelling_of_the_setting_data(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{"setting_code": "m12/68"}])
    assert stored(store, "setting_code", "installation") == ["M12-68"]


# Two published codes that differ only so much are kept apart: it is not known which
# one is meant.
def test_a_setting_code_that_could_be_two_is_not_guessed(tmp_path: Path) -> None:
    settings: list[Row] = [{}, {"setting_code": "M12/68"}]
    store = build_store(tmp_path, [{"setting_code": "M12 68"}, {}], settings=settings)
    assert stored(store, "record_id", "installation") == ["R2"]


@pytest.mark.parametrize("order", list(permutations(["SITE-1", "site 01"])))
def test_site_codes_are_joined_in_any_order(
    tmp_path: Path, order: tuple[str, ...]
) -> None:
    store = build_store(tmp_path)
    for number, site in enumerate(order):
        folder = tmp_path / str(number)
        load(store, write_log(folder, [{"record_id": f"R{number}"}], site=site))
    assert stored(store, "site_code", "installation") == ["SITE 01"]
    assert stored(store, "site_code", "tally") == ["SITE 01"]
    assert stored(store, "site_code", "site") == ["SITE 01"]
    assert stored(store, "site_code", "source_file where site_code is not null") == [
        "SITE 01"
    ]


# The same record from two spellings of its site is one record.
def test_a_record_is_known_under_either_spelling_of_its_site(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{"record_id": "A"}])
    path = write_log(tmp_path / "b", [{"record_id": "A"}], site="site 01")
    [receipt] = load(store, path).receipts
    assert (receipt.loaded, receipt.duplicate) == (0, 1)


# Crews of a sheet are the crews of the logs, whichever came first.
@pytest.mark.parametrize("is_sheet_first", [True, False])
def test_a_sheets_codes_are_joined_with_the_logs(
    tmp_path: Path, is_sheet_first: bool
) -> None:
    store = build_store(tmp_path)
    sheet = write_csv(
        tmp_path / "crews.csv",
        [
            {"crew_code": "C-07", "crew_name": "Pier gang"},
            {"crew_code": "c07", "crew_name": "Pier gang"},
        ],
    )
    log = write_log(tmp_path / "in", [{"crew_code": "C7"}])
    for path in (sheet, log) if is_sheet_first else (log, sheet):
        load(store, path)
    assert stored(store, "crew_code", "installation") == ["C-07"]
    assert stored(store, "crew_code", "crew") == ["C-07"]
    with store.reader() as con:
        counts = con.execute(
            "select loaded, duplicate from source_file where content = 'crews'"
        ).fetchall()
    assert counts == [(1, 1)]


def test_a_sheets_row_that_becomes_another_of_one_key_is_rejected(
    tmp_path: Path,
) -> None:
    store = build_store(tmp_path)
    sheet = write_csv(
        tmp_path / "crews.csv",
        [
            {"crew_code": "C-07", "crew_name": "Pier gang"},
            {"crew_code": "c07", "crew_name": "Deck gang"},
        ],
    )
    [receipt] = load(store, sheet).receipts
    assert (receipt.loaded, receipt.rejected) == (1, 1)
