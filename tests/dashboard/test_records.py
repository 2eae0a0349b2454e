"""Records: one search on the page, in the terminal, in CSV and in XLSX."""

import csv
import io
import json
from collections.abc import Iterator
from datetime import date

import duckdb
import polars as pl
import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from dashboard import exports, workbook
from dashboard.address import parse_view
from dashboard.app import create_app, route
from dashboard.command import main
from dashboard.pages import records
from dashboard.spreadsheet import csv_text
from dashboard.workbook import CUT, LONGEST_CELL, cut
from queries.judgement import VERDICTS
from queries.readers.choices import read_choices
from queries.readers.record_page import (
    Key,
    read_record_page,
    read_record_pieces,
    why_not_ordered,
)
from queries.readers.record_search import DayCounts, RecordSearch, read_day_counts
from queries.selection import Selection
from queries.store import Store
from tests.builders import Row, build_store
from tests.dashboard.components import hrefs, lead, rows, table, text
from tests.dashboard.workbook_cells import sheet_cells

HOSTILE = (
    '=HYPERLINK("http://example.invalid","x")',
    "+cmd|' /C calc'!A0",
    "-2+3",
    "@SUM(A1)",
    "_x0041_ <b>&amp;",
)
UNDER = {"setting_torque_nm": "20"}  # The band is 49.5 to 60.5 Nm.

# NORTH: R1 and R2 of one day, both 20 Nm; R3 25 Nm; R4 conforming; R5 torque blank and
# the hole too shallow (h_1 = 90); R6 abandoned. SOUTH: a number each that a spreadsheet
# would run, 20 Nm. So 3 + 5 anchors fail on torque, 9 on any check.
NORTH: list[Row] = [
    UNDER,
    UNDER,
    {"setting_torque_nm": "25", "installed_on": "2026-05-06", "crew_code": "C2"},
    {"installed_on": "2026-05-05"},
    {"setting_torque_nm": "", "hole_depth_mm": "70", "crew_code": "C2"},
    {"outcome": "abandoned", "installed_on": "2026-05-07", "edge_1_mm": "clear"},
]
SOUTH: list[Row] = [
    {"record_id": number, "note": number, "setting_code": "M6-40", **UNDER}
    for number in HOSTILE
]
M6: Row = {
    "setting_code": "M6-40",
    "anchor_size": "M6",
    "drill_diameter_mm": 6,
    "hole_depth_mm": 55,
    "embedment_mm": 40,
    "nominal_embedment_mm": 46,
}
TORQUE = "check=setting_torque"


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    folder = tmp_path_factory.mktemp("records")
    sites = {"NORTH": NORTH, "SOUTH": SOUTH}
    return build_store(folder, settings=[{}, M6], sites=sites)


@pytest.fixture(scope="module")
def client(store: Store) -> FlaskClient:
    found: FlaskClient = create_app(store).server.test_client()
    return found


@pytest.fixture
def con(store: Store) -> Iterator[duckdb.DuckDBPyConnection]:
    with store.reader() as cursor:
        yield cursor


# Address, options of the terminal, records expected in order.
SEARCHES = [
    (TORQUE + "&sites=NORTH", ["--check", "setting_torque"], ["R3", "R1", "R2"]),
    ("sites=NORTH", [], ["R3", "R1", "R2", "R5"]),
    (
        TORQUE + "&verdict=unrecorded&sites=NORTH",
        ["--check", "setting_torque", "--verdict", "unrecorded"],
        ["R5"],
    ),
    (
        "verdict=any&outcome=abandoned&sites=NORTH",
        ["--verdict", "any", "--outcome", "abandoned"],
        ["R6"],
    ),
    (
        "verdict=any&id=R4&sites=NORTH",
        ["--verdict", "any", "--record", "R4"],
        ["R4"],
    ),
    # A record that is named is found whatever its verdict.
    ("id=R4&sites=NORTH", ["--record", "R4"], ["R4"]),
    (
        "id=R4&verdict=nonconforming",
        ["--record", "R4", "--verdict", "nonconforming"],
        [],
    ),
    (
        "begins=R&sites=NORTH&crews=C2&to=2026-05-05",
        ["--begins", "R", "--crew", "C2", "--to", "2026-05-05"],
        ["R5"],
    ),
    ("verdict=conforming&sites=NORTH", ["--verdict", "conforming"], ["R4"]),
    ("sizes=M6&sites=NORTH", ["--size", "M6"], []),
]


@pytest.mark.parametrize(("search", "options", "expected"), SEARCHES)
def test_page_terminal_csv_and_xlsx_hold_the_same_records(
    store: Store,
    client: FlaskClient,
    capsys: pytest.CaptureFixture[str],
    search: str,
    options: list[str],
    expected: list[str],
) -> None:
    with store.reader() as con:
        choices = read_choices(con)
        page = records.render(con, parse_view(search, choices), choices)
    shown = rows(table(page, "Records that match")) if expected else []
    assert [row[0].removesuffix(" abandoned") for row in shown] == expected
    asked = ["records", "--store", str(store.folder), "--site", "NORTH", *options]
    assert main([*asked, "--format", "csv"]) == 0
    printed = capsys.readouterr().out
    assert _get(client, f"/csv/records?{search}").get_data(as_text=True) == printed
    assert main([*asked, "--format", "json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [row["record_id"] for row in told] == expected
    assert [row[1] for row in _sheet(client, search)[1:]] == expected


def test_provenance_and_figures_of_a_row(client: FlaskClient) -> None:
    answer = _get(client, f"/csv/records?{TORQUE}&sites=NORTH&id=R3")
    (row,) = csv.DictReader(io.StringIO(answer.get_data(as_text=True)))
    # Under the heads, R3 is row 4 of its file; 25 Nm is 24.5 under 49.5.
    assert (row["file_name"], row["source_row"], row["edition"]) == (
        "NORTH_log.csv",
        "4",
        "1",
    )
    assert (row["verdict"], row["margin"], row["margin_unit"], row["direction"]) == (
        ("nonconforming", "-24.5", "Nm", "under")
    )
    assert (row["nonconforming_checks"], row["setting_torque_nm"]) == (
        "setting_torque",
        "25.0",
    )


def test_csv_runs_nothing_and_gives_the_texts_back(client: FlaskClient) -> None:
    answer = _get(client, "/csv/records?sites=SOUTH").get_data(as_text=True)
    found = list(csv.DictReader(io.StringIO(answer)))
    for name in ("record_id", "note"):
        texts = {row[name] for row in found}
        assert not any(one.startswith(("=", "+", "-", "@")) for one in texts)
        # An apostrophe before what would be run, and nothing else, was added.
        assert {one.removeprefix("'") for one in texts} == set(HOSTILE)


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "\n"])
def test_csv_disarms_every_start_of_a_formula(start: str) -> None:
    written = csv_text(pl.DataFrame({"note": [f"{start}1"], "margin": [-1.5]}))
    [row] = csv.DictReader(io.StringIO(written, newline=""))
    assert row == {"note": f"'{start}1", "margin": "-1.5"}


def test_xlsx_holds_strings_and_no_formula(client: FlaskClient) -> None:
    head, *found = _sheet(client, "sites=SOUTH")
    at = head.index("record_id")
    assert {row[at] for row in found} == set(HOSTILE)
    assert {row[head.index("note")] for row in found} == set(HOSTILE)
    numbers = {row[head.index("setting_torque_nm")] for row in found}
    assert numbers == {20}
    clear = _sheet(client, "verdict=any&sites=NORTH&outcome=abandoned")[1]
    assert clear[head.index("edge_1_mm")] == "clear"


def test_xlsx_of_more_rows_than_a_sheet_is_refused(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert workbook.MOST_ROWS == 2**20 - 1  # ECMA-376: 1,048,576 rows, one of heads.
    monkeypatch.setattr(exports, "MOST_ROWS", 3)
    refused = _get(client, "/xlsx/records?sites=NORTH")
    assert refused.status_code == 413
    assert "Take the CSV" in refused.get_data(as_text=True)
    assert _get(client, f"/xlsx/records?{TORQUE}&sites=NORTH").status_code == 200


def test_a_text_too_long_for_a_cell_says_so() -> None:
    assert cut("x" * LONGEST_CELL) == "x" * LONGEST_CELL
    assert len(cut("x" * (LONGEST_CELL + 1))) == LONGEST_CELL
    assert cut("x" * (LONGEST_CELL + 1)).endswith(CUT)


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
@pytest.mark.parametrize("asked", ["verdict=good", "outcome=lost", "sites=NOWHERE"])
def test_a_file_is_not_made_of_half_an_address(
    client: FlaskClient, kind: str, asked: str
) -> None:
    refused = _get(client, f"/{kind}/records?{asked}")
    assert refused.status_code == 400
    assert asked.partition("=")[2] in refused.get_data(as_text=True)


def test_span_reaches_past_a_day_that_may_be_read_already() -> None:
    first, second, third = (date(2026, 5, number) for number in (4, 5, 6))
    days = DayCounts((first, second, third), (5, 1, 9))
    assert days.total == 15
    assert days.span(None, 4, backward=False) == (third, third)
    # All nine of the third day may lie before the key: one of the second is too few.
    assert days.span(third, 4, backward=False) == (first, third)
    assert days.span(second, 4, backward=True) == (second, third)
    assert days.span(date(2026, 5, 3), 4, backward=False) is None


@pytest.mark.parametrize("order", ["newest", "margin", "record"])
def test_pages_by_key_hold_each_record_once_both_ways(
    con: duckdb.DuckDBPyConnection, order: str
) -> None:
    search = RecordSearch(Selection(check_names=("setting_torque",)), verdict=None)
    days = read_day_counts(con, search)
    keys: list[Key | None] = [None]
    forward: list[list[str]] = []
    for _ in range(5):
        page = read_record_page(con, search, days, order=order, after=keys[-1], limit=3)
        forward.append(page.rows["record_id"].to_list())
        if page.next is None:
            break
        keys.append(page.next)
    everyone = [f"R{number}" for number in range(1, 7)] + list(HOSTILE)
    assert sorted(one for some in forward for one in some) == sorted(everyone)
    assert [len(one) for one in forward] == [3, 3, 3, 2]
    # Back from the last page.
    at = page.previous
    for expected in reversed(forward[:-1]):
        back = read_record_page(con, search, days, order=order, before=at, limit=3)
        assert back.rows["record_id"].to_list() == expected
        at = back.previous
    assert at is None


def test_orders(con: duckdb.DuckDBPyConnection) -> None:
    search = RecordSearch(
        Selection(site_codes=("NORTH",), check_names=("setting_torque",)), verdict=None
    )
    days = read_day_counts(con, search)

    def listed(order: str) -> list[str]:
        page = read_record_page(con, search, days, order=order)
        return [str(one) for one in page.rows["record_id"]]

    assert listed("newest") == ["R6", "R3", "R4", "R1", "R2", "R5"]
    # Margins: -29.5, -29.5, -24.5, 5.5; blank and abandoned have none.
    assert listed("margin") == ["R1", "R2", "R3", "R4", "R5", "R6"]
    assert listed("record") == ["R1", "R2", "R3", "R4", "R5", "R6"]


def test_an_order_that_cannot_be_served_says_why() -> None:
    few, many = (DayCounts((date(2026, 5, 4),), (n,)) for n in (5, 500_001))
    torque = RecordSearch(Selection(check_names=("setting_torque",)))
    assert why_not_ordered(torque, few, "margin") is None
    assert "needs one check" in str(why_not_ordered(RecordSearch(), few, "margin"))
    assert "500001 match" in str(why_not_ordered(torque, many, "margin"))
    assert why_not_ordered(torque, many, "newest") is None


def test_counts_by_day_are_those_of_the_judged_rows(
    con: duckdb.DuckDBPyConnection,
) -> None:
    """The tally's counts, the masks' and the view that judges again agree."""
    told = con.execute(
        "select check_name, verdict, count(*) from installation_verdict group by all"
    ).fetchall()
    counts = {(check, verdict): number for check, verdict, number in told}
    # The last bit, the first, one judged here in all ways, one always inapplicable.
    for check in ("tilt", "anchor_length", "setting_torque", "torque_tool"):
        selection = Selection(check_names=(check,))
        for verdict in VERDICTS:
            by_tally = RecordSearch(selection, verdict)
            by_mask = RecordSearch(selection, verdict, begins="")
            for search in (by_tally, by_mask):
                total = read_day_counts(con, search).total
                assert total == counts.get((check, verdict), 0), search
        everyone = read_day_counts(con, RecordSearch(selection, None)).total
        assert everyone == len(NORTH) + len(SOUTH)


def test_pieces_cut_no_day_and_lose_no_row(con: duckdb.DuckDBPyConnection) -> None:
    search = RecordSearch(verdict=None)
    days = read_day_counts(con, search)
    pieces = list(read_record_pieces(con, search, days, piece_rows=2))
    # Newest first; 4 May has 3 of NORTH and 5 of SOUTH, and is one piece.
    assert [one.height for one in pieces] == [2, 1, 8]
    whole = read_record_page(con, search, days, whole=True, limit=20).rows
    assert pl.concat(pieces).equals(whole)


def test_a_page_says_where_it_leads_and_keeps_its_place(store: Store) -> None:
    with store.reader() as con:
        choices = read_choices(con)
        view = parse_view(f"{TORQUE}&order=margin&after=-29.5,NORTH,R1", choices)
        page = records.render(con, view, choices)
    assert "8 records match: nonconforming in Setting torque" in lead(page)
    links = hrefs(page)
    first = f"/records?{TORQUE}&order=margin"
    assert first in links
    assert any("record=R2" in one and "after=-29.5,NORTH,R1" in one for one in links)


def test_an_empty_list_and_a_bad_place_are_said_in_words(store: Store) -> None:
    nothing = text(route(store, "/records", "?id=NOBODY")[0])
    assert "No record matches: number" in nothing
    assert "as its site wrote it" in nothing
    astray = text(route(store, "/records", "?after=yesterday,NORTH,R1")[0])
    assert "no place in this list" in astray


def _get(client: FlaskClient, address: str) -> TestResponse:
    """Return an answer read to its end, as a server sends it."""
    return client.get(address, buffered=True)


def _sheet(client: FlaskClient, search: str) -> list[list[object]]:
    answer = _get(client, f"/xlsx/records?{search}")
    assert answer.status_code == 200
    return sheet_cells(answer.data)
