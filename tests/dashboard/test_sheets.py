"""Sheets for paper, read back from the PDF as a foreman reads them (conftest.py)."""

import io
import json
from collections.abc import Iterator
from datetime import UTC, date, datetime
from math import floor
from pathlib import Path
from typing import Any

import duckdb
import pytest
from pypdf import PdfReader
from statsmodels.stats.proportion import proportion_confint

from dashboard import language, words
from dashboard.address import parse_view
from dashboard.command import main
from dashboard.pages import sites
from dashboard.pages.crew_grid import crew_grid
from dashboard.sheets.content import (
    CheckLine,
    Part,
    Picture,
    Sheet,
    shortened,
)
from dashboard.sheets.draw import draw_sheet
from dashboard.sheets.paper import HEIGHT_MM, WIDTH_MM, as_seen
from dashboard.sheets.read import read_sheet
from queries.judgement import CHECK_NAMES
from queries.readers.choices import Choices, read_choices
from queries.selection import Selection
from queries.store import Store
from tests.builders import NOW, Row, load, write_log, write_setting_data
from tests.dashboard.components import hrefs

Con = duckdb.DuckDBPyConnection

# No font of ours has the bridge; the last word runs from right to left.
ODD_NAME = "Widerlager Süd 橋 <b>&amp; \\u202e שלום"
# M12, 68 mm required in the concrete. A bolt that stands 21 instead of 11 mm out of
# the fixture is 10 mm short: (58/68)^1.5 = 79 % (EN 1992-4, exponent of the cone).
ODD: list[Row] = [
    *({"crew_code": "A/1"} for _ in range(30)),
    *({"setting_torque_nm": "20", "crew_code": "A/1"} for _ in range(9)),
    {"setting_torque_nm": "75", "crew_code": "A/1"},
    {"setting_torque_nm": "", "crew_code": "A/1"},
    {"record_id": "SHORT", "projection_mm": "21", "crew_code": "A/1"},
    {"record_id": "SHORTER", "projection_mm": "31", "crew_code": "A/1"},
]
# On two days, so that the likeness of a day's anchors can be seen.
EVEN: list[Row] = [
    {
        "crew_code": "B1",
        "installed_on": f"2026-05-0{4 + number % 2}",
        "setting_torque_nm": "20" if number < 2 else "55",
    }
    for number in range(100)
]


@pytest.fixture(scope="module")
def odd_store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """A site with an odd name that is out of line, beside an even one."""
    folder: Path = tmp_path_factory.mktemp("sheets")
    logs = folder / "logs"
    for site, rows in (("ODD", ODD), ("EVEN", EVEN)):
        write_log(logs, rows, site=site)
    write_setting_data(logs)
    site_map = logs / "ODD_log.toml"
    text = site_map.read_text("utf-8")
    site_map.write_text(text.replace("Invented site ODD", ODD_NAME), "utf-8")
    store = Store(folder / "store")
    assert not load(store, logs).failures
    return store


@pytest.fixture
def odd(odd_store: Store) -> Iterator[Con]:
    with odd_store.reader() as cursor:
        yield cursor


def plain(text: str) -> str:
    """Return a text with ordinary spaces and on one line."""
    return " ".join(text.replace(words.SPACE, " ").replace(language.THIN, " ").split())


def printed(content: bytes) -> str:
    """Return the text of a PDF, which must be one page of A4."""
    pages = PdfReader(io.BytesIO(content)).pages
    assert len(pages) == 1
    box = pages[0].mediabox
    size_mm = [float(side) * 25.4 / 72 for side in (box.width, box.height)]
    assert size_mm == pytest.approx([WIDTH_MM, HEIGHT_MM], abs=0.1)
    return plain(pages[0].extract_text())


def sheet_text(
    con: Con, kind: str, code: str, selection: Selection | None = None
) -> str:
    asked = selection or Selection()
    return printed(draw_sheet(read_sheet(con, kind, code, asked, read_choices(con))))


@pytest.fixture(scope="module")
def site_text(odd_store: Store) -> str:
    with odd_store.reader() as con:
        return sheet_text(con, "site", "ODD")


@pytest.fixture(scope="module")
def crew_text(odd_store: Store) -> str:
    with odd_store.reader() as con:
        return sheet_text(con, "crew", "A/1")


def said_by_terminal(
    store: Store, capsys: pytest.CaptureFixture[str], *arguments: str
) -> list[dict[str, Any]]:
    options = ["--format", "json", "--store", str(store.folder)]
    assert main([*arguments, *options]) == 0
    found: list[dict[str, Any]] = json.loads(capsys.readouterr().out)
    return found


@pytest.mark.parametrize(("kind", "code"), [("site", "NORTH"), ("crew", "C2")])
def test_every_check_has_the_terminals_figures(
    store: Store, capsys: pytest.CaptureFixture[str], kind: str, code: str
) -> None:
    with store.reader() as con:
        text = sheet_text(con, kind, code)
    rates = said_by_terminal(store, capsys, "rates", "--by", kind, f"--{kind}", code)
    assert [row["check"] for row in rates] == list(CHECK_NAMES)
    for row in rates:
        assert line_of(row) in text
    one = ("--by", kind, "--check", "setting_torque")
    compared = said_by_terminal(store, capsys, "compare", *one)
    own = next(row for row in compared if row["group"] == code)
    [row] = [row for row in rates if row["check"] == "setting_torque"]
    assert f"{line_of(row, own['others_rate'])} {verdict_of(own)}" in text


def line_of(row: dict[str, Any], others_rate: float | None = None) -> str:
    """Return the start of a check's line as the terminal's JSON has it.

    All of it but the verdict where the others' rate is given.
    """
    missing = row["unrecorded"] + row["unreadable"]
    left = "0"
    if missing:
        left = f"{missing} ({words.percent(missing / (row['judged'] + missing))})"
    start = f"{words.title(row['check'])} {row['judged']}"
    rate, truth = "– –", "–"
    if row["judged"]:
        span = words.interval(row["low"], row["high"])
        rate = f"{row['nonconforming']} {words.percent(row['rate'])} ({span})"
        truth = words.interval(
            row["rate_if_unrecorded_conform"], row["rate_if_unrecorded_not"]
        )
    if others_rate is None and row["judged"]:
        return plain(f"{start} {rate}")
    others = words.DASH if others_rate is None else words.percent(others_rate)
    return plain(f"{start} {rate} {others} {left} {truth}")


def verdict_of(own: dict[str, Any]) -> str:
    """Return the last column as the JSON of the terminal's comparison has it."""
    if own["flagged"]:
        # Nobody else fails here: there is nothing to be a multiple of.
        assert own["ratio"] is None
        return f"▲ {own['nonconforming']} where none would be expected"
    return plain(f"could see from {words.percent(own['detectable_rate'])}")


def test_site_sheet_answers_first_and_counts_by_hand(site_text: str) -> None:
    text = site_text
    # 42 judged for torque: 9 under, 1 over; EVEN has 2 of 100 in the same cell.
    low, high = (100 * end for end in proportion_confint(10, 42, method="wilson"))
    assert (
        f"Setting torque 42 10 23.8 % ({low:.1f}–{high:.1f} %) 2.0 % 1 (2.3 %)" in text
    )
    assert "is out of line for its mix of sizes, methods and orientations on " in text
    # Expected at the others' rates: 42 x 2 / 100.
    assert "Setting torque, 10 nonconforming where 0.8 would be expected" in text
    assert "90.0 % of them under the band." in text
    assert words.CAUTION in text
    assert "A flag is a question to ask on site, not a finding." in text
    assert "2026-05-04 to 2026-05-04" in text


def test_lowest_indicative_ratios_come_first_with_their_caution(
    site_text: str,
) -> None:
    text = site_text
    shorter, short = ((68 - lost) / 68 for lost in (20, 10))
    first = f"{floor(100 * shorter**1.5)} %: record SHORTER, 2026-05-04, crew A/1, M12;"
    then = f"{floor(100 * short**1.5)} %: record SHORT, 2026-05-04, crew A/1, M12;"
    assert 0 < text.index(first) < text.index(then)
    # Torque has no part in the ratio: 10 lose nothing.
    assert (
        "12 anchors: 1 below 70 %, 1 from there to below 85 %, 0 from there to below "
        "100 %, 10 that lose nothing, 0 not known." in text
    )
    assert (
        "It is no capacity and accepts nothing; ask the engineer responsible." in text
    )
    assert "1 nonconforming anchor has an indicative cone ratio below 70 %" in text


def test_crew_sheet_has_the_retraining_list_of_the_terminal(
    odd_store: Store, crew_text: str, capsys: pytest.CaptureFixture[str]
) -> None:
    text = crew_text
    listed = said_by_terminal(odd_store, capsys, "retrain", "--crew", "A/1")
    [row] = [row for row in listed if row["is_clear"]]
    assert row["check"] == "setting_torque"
    # 9 at 20 Nm and one at 75.
    assert (
        "10 of 42 anchors did not conform on setting torque: 9 of them were tightened "
        "too little. "
        "The better quarter of the crews has about "
        f"{round(100 * row['reachable_rate'])} in 100. "
        f"About {round(row['avoidable'])} of the next 43 holes would be spared." in text
    )
    assert "probably" not in text
    assert "Crew A/1: most could be gained on setting torque" in text
    assert "None on a check is registered for this crew" in text
    assert "Nothing recorded, so nothing to judge: " in text
    assert "not about persons" in text
    assert words.CAUTION in text


def test_no_signal_is_called_no_clearance(odd: Con) -> None:
    text = sheet_text(odd, "crew", "B1")
    assert "no step stands out from what chance explains. No signal is no clear" in text
    assert "out of line" not in text
    # 2 of 100 beside 10 of 42, in the same cell; elsewhere next to nothing is found.
    assert (
        "Fewer than with the other crews, by more than chance: setting torque" in text
    )
    assert "No difference seen: anchor length, hole depth" in text


@pytest.mark.parametrize(("kind", "code"), [("site", "ODD"), ("crew", "A/1")])
def test_an_empty_slice_says_nothing_to_judge(odd: Con, kind: str, code: str) -> None:
    text = sheet_text(odd, kind, code, Selection(from_on=date(2030, 1, 1)))
    assert "No installation is logged from 2030-01-01 with these filters" in text
    # The lead, and a line a check; never a rate.
    assert text.count(words.NOTHING) == 1 + len(CHECK_NAMES)
    assert "0.0 %" not in text.replace("100.0 %", "")


def test_odd_names_are_printed_or_named_by_code_point(site_text: str) -> None:
    text = site_text
    assert "Widerlager Süd [U+6A4B]" in text
    assert "<b>&amp;" in text
    assert "[U+202E]" in text


def test_words_from_right_to_left_stand_as_they_are_read() -> None:
    # UAX 9: in a line from left to right the Hebrew word alone is turned round, and
    # brackets around it change sides.
    assert as_seen("Süd שלום (ODD)") == "Süd םולש (ODD)"
    assert as_seen("שלום (א) 12") == "12 (א) םולש"
    assert as_seen("a (b) 12") == "a (b) 12"


def test_the_same_edition_gives_the_same_bytes(odd: Con) -> None:
    choices = read_choices(odd)
    sheet = read_sheet(odd, "site", "ODD", Selection(), choices)
    content = draw_sheet(sheet)
    assert content == draw_sheet(sheet)
    about = PdfReader(io.BytesIO(content)).metadata
    assert about is not None
    assert about.creation_date == NOW
    assert f"Edition 1 of the data, published {words.instant(NOW)}" == sheet.edition


def test_everything_long_stays_on_one_page() -> None:
    """The longest that a site's sheet can become, a letter more in every sentence."""
    name = shortened("橋" * 200)
    picture = Picture(0.5, 0.4, 0.6, 0.1, 0.9, 0.2, is_flagged=True)
    line = CheckLine(
        "Member thickness",
        "12 345 678",
        "12 345 678",
        "100.0 % (99.9–100.0 %)",
        "100.0 %",
        "12 345 678 (100.0 %)",
        "0.0–100.0 %",
        "▲ 1234.5 times expected",
        picture,
    )
    long = f"{name}: " + "and so on " * 25
    sheet = Sheet(
        kind="Site sheet",
        name=f"{name} ({name})",
        scope=long,
        edition="Edition 1",
        lead=long,
        counted=long,
        checks=(line,) * len(CHECK_NAMES),
        key=long + long,
        # Three to raise; two owed to the mix; the count and five anchors.
        parts_before=(Part("What to raise", (long,) * 3, is_numbered=True),),
        parts_after=(Part("Owed", (long,) * 2), Part("Ratio", (long,) * 7)),
        cautions=(long, words.CAUTION),
        file_name="x.pdf",
        published_at=datetime(2026, 1, 1, tzinfo=UTC),
    )
    text = printed(draw_sheet(sheet))
    assert text.endswith(words.CAUTION)
    assert text.count("▲ 1234.5 times expected") == len(CHECK_NAMES)


def test_a_cut_name_shows_that_it_is_cut() -> None:
    assert shortened("a" * 80) == "a" * 80
    assert shortened("a" * 81) == "a" * 79 + "…"
    # Each is written as [U+6A4B], eight characters.
    assert shortened("橋" * 10) == "橋" * 10
    assert shortened("橋" * 11) == "橋" * 9 + "…"


def test_pages_lead_to_the_sheets_with_their_filters(
    con: Con, choices: Choices
) -> None:
    view = parse_view("?from=2026-05-01&sites=NORTH&check=tilt", choices)
    of_sites = hrefs(sites.render(con, view, choices))
    assert "/pdf/site?from=2026-05-01&sites=NORTH" in of_sites
    of_crews = hrefs(crew_grid(con, view, choices))
    assert "/pdf/crew?from=2026-05-01&sites=NORTH&crews=C2" in of_crews


def test_site_filter_narrows_a_crews_sheet(con: Con) -> None:
    # C2 worked at NORTH alone.
    elsewhere = sheet_text(con, "crew", "C2", Selection(site_codes=("SOUTH",)))
    assert "Crew C2: nothing to judge." in elsewhere
    assert "No installation is logged with these filters" in elsewhere
