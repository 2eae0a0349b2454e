"""A drafted map says within what record numbers count, where the file shows it.

Expected by hand, from rows of a few invented days.
"""

from collections.abc import Iterable
from pathlib import Path

import pytest

from etl.draft.draft import draft_of
from etl.draft.write import toml_of
from etl.site_map import read_site_map
from tests.builders import write_csv

NAMES = ("No.", "Date", "Crew", "Bay")


def drafted(folder: Path, rows: Iterable[str]) -> tuple[tuple[str, ...], str]:
    """Return what the drafted map says, and the draft's text."""
    path = write_csv(
        folder / "log.csv",
        [
            dict(zip(NAMES, row.split(), strict=True)) | {"Setting code": "A-1"}
            for row in rows
        ],
    )
    text = toml_of(draft_of(path))
    target = folder / "log.toml"
    target.write_text(text, "utf-8")
    return read_site_map(target).counts_within, text


@pytest.mark.parametrize(
    ("rows", "within"),
    [
        (
            ["1 13.5.26 C1 n", "2 13.5.26 C2 n", "1 14.5.26 C1 n", "2 14.5.26 C1 n"],
            ("Date",),
        ),
        # A row that is there twice is no number used again.
        (["1 13.5.26 C1 n", "1 13.5.26 C1 n", "1 14.5.26 C1 n"], ("Date",)),
        (
            ["1 13.5.26 C1 n", "1 13.5.26 C2 n", "1 14.5.26 C1 n", "2 14.5.26 C1 n"],
            ("Date", "Crew"),
        ),
        (
            ["1 13.5.26 C1 n", "1 13.5.26 C1 s", "2 14.5.26 C1 n", "2 14.5.26 C1 s"],
            ("Bay",),
        ),
        (["7 13.5.26 C1 n", "8 13.5.26 C1 n", "9 14.5.26 C1 n"], ()),
    ],
)
def test_within_what_numbers_count(
    tmp_path: Path, rows: list[str], within: tuple[str, ...]
) -> None:
    assert drafted(tmp_path, rows)[0] == within


@pytest.mark.parametrize("foot", [[], ["Signature 13.5.26 C1 n"]])
def test_numbers_from_one_are_asked_about(tmp_path: Path, foot: list[str]) -> None:
    rows = [f"{number} 13.5.26 C1 n" for number in (1, 2, 3)] + foot
    within, text = drafted(tmp_path, rows)
    assert within == ()
    assert '#   within = ["Date"] in record_id? they count from 1: do they' in text


def test_a_slip_of_the_pen_is_only_asked_about(tmp_path: Path) -> None:
    rows = [f"{number} 13.5.26 C1 n" for number in range(50, 90)]
    within, text = drafted(tmp_path, [*rows, "50 14.5.26 C1 n"])
    assert within == ()
    assert 'within = ["Date"] in record_id? 2 of 41 numbers come again, none' in text


def test_what_no_column_is_may_be_said_otherwise(tmp_path: Path) -> None:
    path = write_csv(tmp_path / "log.csv", [{"Record": 7, "Date": "2026-05-04"}])
    text = toml_of(draft_of(path))
    assert '# crew_code = "?"  # needed, and not found; {always = "..."} if' in text
    assert '# setting_code = "?"  # needed, and not found; {from = [' in text


def test_numbers_that_nothing_tells_apart_are_asked_about(tmp_path: Path) -> None:
    path = write_csv(
        tmp_path / "log.csv",
        [
            dict(zip(NAMES, (number, "13.5.26", "C1", "n"), strict=True))
            | {"Setting code": "A-1", "Hole depth mm": depth}
            for number in (1, 2)
            for depth in (90, 91)
        ],
    )
    draft = draft_of(path)
    assert "record_id" in draft.not_found
    assert '# record_id = "No."  # guess: 50% of the values repeat: within' in toml_of(
        draft
    )
