"""Records that were made afterwards, through the words and figures a reader gets."""

import json
from datetime import timedelta
from pathlib import Path

import polars as pl
import pytest

from dashboard.address import parse_view
from dashboard.command import main
from dashboard.doubt_words import CAUTION, FOUND, INNOCENT
from dashboard.downloads import QUESTIONS
from dashboard.pages import LATER, doubted
from queries.errors import FirmsetError
from queries.readers.choices import read_choices
from queries.readers.doubts import read_doubts
from queries.store import Store
from tests.builders import Row, build_store
from tests.dashboard.components import hrefs, rows, table, text
from tests.whole_line.planted import (
    A_DAY,
    COPIED,
    DAYS,
    EDITED,
    FIRST,
    HONEST,
    planted_rows,
)


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    return build_store(tmp_path_factory.mktemp("doubts"), planted_rows())


def said(
    capsys: pytest.CaptureFixture[str], store: Store, *words: str, code: int = 0
) -> str:
    capsys.readouterr()
    assert main([*words, "--store", str(store.folder)]) == code
    shown = capsys.readouterr()
    return (shown.out + shown.err).replace("\xa0", " ").replace("\u202f", " ")


def test_the_best_crew_by_rate_is_the_edited_one(
    capsys: pytest.CaptureFixture[str], store: Store
) -> None:
    # The trap: 18 % were outside, none is in the log.
    found = json.loads(
        said(
            capsys,
            store,
            *("rates", "--by", "crew", "--check", "setting_torque"),
            *("--doubtful-unknown", "--format", "json"),
        )
    )
    by_crew = {row["crew"]: row for row in found}
    for crew in (EDITED, COPIED):
        row = by_crew[crew]
        assert (row["judged"], row["nonconforming"]) == (DAYS * A_DAY, 0)
        assert row["rate"] == 0
        # All twelve days count as unknown: anything from 0 to 100 %.
        assert row["doubted"] == DAYS * A_DAY
        assert row["rate_if_unrecorded_conform"] == 0
        assert row["rate_if_unrecorded_not"] == 1
    for crew in HONEST:
        row = by_crew[crew]
        assert row["doubted"] == 0
        assert row["rate_if_unrecorded_not"] == pytest.approx(row["rate"])


def test_both_are_listed_with_signs_and_innocent_explanations(
    capsys: pytest.CaptureFixture[str], store: Store
) -> None:
    listed = json.loads(said(capsys, store, "doubts", "--format", "json"))
    assert {row["crew_code"] for row in listed} == {EDITED, COPIED}
    assert len(listed) == 2 * DAYS
    for row in listed:
        assert 0.9 <= row["probability"] <= 1
        signs = " ".join(row["signs"])
        if row["crew_code"] == EDITED:
            assert FOUND["edge"] in signs
            assert set(INNOCENT["edge"]) <= set(row["may_be"])
        else:
            assert FOUND["record"] in signs and FOUND["torque"] in signs
            assert "torques inside the band are all the same" in signs
            assert set(INNOCENT["record"]) <= set(row["may_be"])
        # No times in this log.
        assert "times" in row["silent"]


def test_words_accuse_nobody(capsys: pytest.CaptureFixture[str], store: Store) -> None:
    shown = said(capsys, store, "doubts")
    assert (
        "24 of 96 batches (what one crew logged at one site on one day) are unlike "
        "those of the other crews there" in shown
    )
    assert "Worth a look, and nothing more" in shown
    everything = (shown + str(FOUND) + str(INNOCENT) + CAUTION).lower()
    for word in ("fake", "forge", "fraud", "cheat", "falsif", "suspect", "guilty"):
        assert word not in everything


def test_a_filter_chooses_what_is_shown_not_who_the_peers_are(
    capsys: pytest.CaptureFixture[str], store: Store
) -> None:
    options = ("doubts", "--crew", COPIED, "--from", "2026-05-10", "--format", "json")
    listed = json.loads(said(capsys, store, *options))
    # Six of the twelve days from 4 May.
    assert len(listed) == 6
    shown = said(capsys, store, "doubts", "--crew", HONEST[0])
    assert "0 of 12 batches" in shown
    assert "No sign is not clearance." in shown


def test_a_batch_leads_to_its_rows(
    capsys: pytest.CaptureFixture[str], store: Store
) -> None:
    batch = ("doubts", "--rows", "SITE-1", COPIED, "2026-05-04")
    found = json.loads(said(capsys, store, *batch, "--format", "json"))
    assert len(found) == A_DAY
    assert found[0]["signs"] == ["round"]  # 55 Nm
    assert found[1]["signs"] == ["round", "torque", "record"]
    # Crew by crew, twelve days of forty after seven other crews, under one header.
    first = 7 * DAYS * A_DAY + 2
    assert [row["source_row"] for row in found] == list(range(first, first + A_DAY))
    assert {row["file_name"] for row in found} == {"SITE-1_log.csv"}


@pytest.mark.parametrize(
    ("batch", "words"),
    [
        (("SITE-1", COPIED, "4 May"), "expected a day as 2026-01-31"),
        (("SITE-1", COPIED, "2026-01-01"), "set nothing at this site on this day"),
    ],
)
def test_a_batch_that_is_not_there_is_said(
    capsys: pytest.CaptureFixture[str],
    store: Store,
    batch: tuple[str, str, str],
    words: str,
) -> None:
    assert words in said(capsys, store, "doubts", "--rows", *batch, code=2)


def test_crews_page_lists_them_and_widens_the_range(store: Store) -> None:
    with store.reader() as con:
        choices = read_choices(con)
        page = LATER["doubts"](con, parse_view("", choices), choices)
        crews = rows(table(page, "Crews with batches worth a look"))
        days = [
            rows(table(page, f"Batches worth a look of crew {crew}"))
            for crew in (COPIED, EDITED)
        ]
        wide = rows(
            table(
                page,
                "Setting torque: range of truth if batches worth a look are unknown",
            )
        )
        one = parse_view(hrefs_of_batch(page), choices)
        batch = QUESTIONS["batch"](con, one)
        with pytest.raises(FirmsetError, match="one site, one crew and one day"):
            QUESTIONS["batch"](con, parse_view("?sites=SITE-1", choices))
        listed = QUESTIONS["doubts"](con, parse_view(f"?crews={EDITED}", choices))
    # A line a crew, its days folded.
    last = FIRST + timedelta(days=DAYS - 1)
    assert [row[:6] for row in crews] == [
        [crew, "SITE-1", str(DAYS), str(DAYS * A_DAY), str(FIRST), str(last)]
        for crew in (COPIED, EDITED)
    ]
    # Of a day's rows all but the first repeat the one before.
    repeats = DAYS * (A_DAY - 1)
    for sign in (FOUND["record"], FOUND["torque"]):
        assert f"in {DAYS} batches {repeats} of {repeats} {sign}, where " in crews[0][6]
    assert f"in {DAYS} batches torques hardly vary" in crews[0][6]
    assert set(INNOCENT["record"]) <= set(crews[0][7].split("; "))
    assert FOUND["edge"] in crews[1][6] and FOUND["record"] not in crews[1][6]
    assert [len(own) for own in days] == [DAYS, DAYS]
    assert batch.height == A_DAY
    assert listed["crew_code"].to_list() == [EDITED] * DAYS
    assert "Worth a look, and nothing more" in text(page)
    plain = [[cell.replace("\xa0", " ") for cell in row] for row in wide]
    assert plain == [
        [crew, "12", "480", "480", "0.0 %", "0.0–0.0 %", "0.0–100.0 %"]
        for crew in (COPIED, EDITED)
    ]


def test_many_days_are_cut_and_the_cut_is_said(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(doubted, "LONGEST", 6)
    monkeypatch.setattr(doubted, "LEAST", 2)
    with store.reader() as con:
        page = LATER["doubts"](
            con, parse_view("", read_choices(con)), read_choices(con)
        )
    shown = table(page, f"Batches worth a look of crew {COPIED}")
    assert len(rows(shown)) == 3
    assert f"crew {COPIED} day by day, 3 of {DAYS}; the CSV has all" in text(page)


def hrefs_of_batch(page: object) -> str:
    first = next(href for href in hrefs(page) if href.startswith("/csv/batch"))
    return first.partition("?")[2]


@pytest.fixture(scope="module")
def other(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Four sites. COARSE: all torques to 5 Nm, one crew's wrench code logged. OWN: only
    H1 reads 5 Nm, on a wrench of its own. SHIFT: H1 stamps all at the end of the shift.
    ALONE: one crew, its record copied down."""
    return build_store(
        tmp_path_factory.mktemp("sites"),
        sites={
            "COARSE": [
                row
                | to_five(row)
                | {"wrench_code": "W-COARSE" if row["crew_code"] == "H1" else ""}
                for row in planted_rows(3, HONEST)
            ],
            "OWN": [
                row
                | (
                    to_five(row) | {"wrench_code": "W-COARSE"}
                    if row["crew_code"] == "H1"
                    else {"wrench_code": "W-FINE"}
                )
                for row in planted_rows(4, HONEST)
            ],
            "SHIFT": [
                row | {"installed_at": f"{row['installed_on']}T{time}"}
                for number, row in enumerate(planted_rows(5, HONEST))
                for time in [stamped(row, number % A_DAY)]
            ],
            "ALONE": planted_rows(6, (COPIED,)),
        },
    )


def to_five(row: Row) -> Row:
    return {
        "setting_torque_nm": str(5 * round(float(str(row["setting_torque_nm"])) / 5))
    }


def stamped(row: Row, place: int) -> str:
    """Every twelve minutes from eight, or every second at the end of the shift."""
    if row["crew_code"] == "H1":
        return f"16:00:{place:02d}"
    return f"{8 + place // 5:02d}:{12 * (place % 5):02d}:00"


@pytest.fixture(scope="module")
def weighed(other: Store) -> pl.DataFrame:
    with other.reader() as con:
        return read_doubts(con).batches


def listed_of(weighed: pl.DataFrame, site: str) -> pl.DataFrame:
    return weighed.filter(pl.col("site_code") == site, pl.col("probability") >= 0.9)


def test_where_everybody_reads_a_coarse_gauge_nothing_is_listed(
    weighed: pl.DataFrame,
) -> None:
    assert listed_of(weighed, "COARSE").is_empty()


def test_a_coarse_wrench_with_its_code_is_compared_with_its_like(
    weighed: pl.DataFrame,
) -> None:
    # No peers on a gauge like it, so what it repeats is no sign.
    own = weighed.filter(pl.col("site_code") == "OWN", pl.col("crew_code") == "H1")
    assert own["round_chance"].null_count() == own["torque_chance"].null_count() == DAYS
    assert listed_of(weighed, "OWN").is_empty()


def test_all_stamped_at_the_end_of_the_shift(weighed: pl.DataFrame) -> None:
    listed = listed_of(weighed, "SHIFT")
    assert listed["crew_code"].to_list() == ["H1"] * DAYS
    # Of forty stamps a second apart: all before the last, and all after the first.
    assert set(listed["stamp_found"]) == set(listed["pace_found"]) == {A_DAY - 1}


def test_one_crew_alone_cannot_be_compared(
    capsys: pytest.CaptureFixture[str], other: Store
) -> None:
    assert "Nothing can be compared" in said(capsys, other, "doubts", "--site", "ALONE")


def test_nothing_loaded(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert "No installation matches" in said(capsys, build_store(tmp_path), "doubts")
