"""What a person at a terminal reads: no word cut, no column out of sight."""

import io
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import polars as pl
import pytest

from dashboard.command import main
from dashboard.terminal.output import complain, print_frame, print_rows, say
from queries.errors import faults_error
from tests.builders import build_store


class Terminal(io.StringIO):
    """A terminal of 40 columns."""

    def isatty(self) -> bool:
        return True


@pytest.fixture(autouse=True)
def width(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "40")


SENTENCE = "1. Crew C12, drill bit: 395/549 nonconforming, and\xa0so on to the end."


def test_a_sentence_is_folded_under_its_first_word() -> None:
    out = Terminal()
    say(f"Before.\n{SENTENCE}", out)
    first, *lines = out.getvalue().splitlines()
    assert first == "Before."
    assert max(map(len, lines)) <= 40
    assert lines[0].startswith("1. Crew C12")
    assert all(line.startswith("   ") for line in lines[1:])
    # Nothing is lost, and what belongs together stays so.
    assert " ".join(line.strip() for line in lines) == SENTENCE
    assert any("and\xa0so" in line for line in lines)


def test_a_program_gets_the_sentence_in_one_line() -> None:
    out = io.StringIO()
    say(SENTENCE, out)
    assert out.getvalue() == SENTENCE + "\n"


FRAME = pl.DataFrame(
    {"site": ["ALDER", "BRINE"]} | {f"number_{at:02}": [at, 10 * at] for at in range(9)}
)


def test_a_wide_table_is_split_with_its_first_column_in_each_part() -> None:
    out = Terminal()
    print_frame(FRAME, "table", out)
    blocks = [block.splitlines() for block in out.getvalue().split("\n\n")]
    assert len(blocks) > 2
    for head, alder, brine in blocks:
        assert max(map(len, (head, alder, brine))) <= 40
        assert head.startswith("site ")
        assert (alder[:5], brine[:5]) == ("ALDER", "BRINE")
    heads = " ".join(head.removeprefix("site") for head, *_ in blocks).split()
    assert heads[1::2] == [f"{at:02}" for at in range(9)]
    figures = [text for _, _, brine in blocks for text in brine.split()[1:]]
    assert figures == [str(10 * at) for at in range(9)]


def test_a_column_wider_than_the_terminal_stands_alone() -> None:
    out = Terminal()
    frame = pl.DataFrame({"row": [1], "reason": ["x" * 60], "file": ["a.csv"]})
    print_frame(frame, "table", out)
    first, second = out.getvalue().split("\n\n")
    assert first.splitlines()[1] == "  1  " + "x" * 60
    assert second.splitlines()[1] == "  1  a.csv"


def test_a_program_gets_every_column_in_one_line() -> None:
    out = io.StringIO()
    print_frame(FRAME, "table", out)
    assert len(out.getvalue().splitlines()) == 3


# ECMA-48 begins its control sequences with ESC or, as one sign, U+009B; U+202E turns
# what follows around (Unicode UAX 9). None of them may reach a terminal from a log.
HOSTILE = "C1\x1b[2J\x9b31m\u202egnorw\u2028\ud800"
NAMED = "C1[U+001B][2J[U+009B]31m[U+202E]gnorw[U+2028][U+D800]"


def test_what_steers_a_terminal_is_written_as_code_points(
    capsys: pytest.CaptureFixture[str],
) -> None:
    out = io.StringIO()
    say(HOSTILE, out)
    complain(HOSTILE)
    assert out.getvalue() == f"{NAMED}\n"
    assert capsys.readouterr().err == f"firmset: {NAMED}\n"
    table = io.StringIO()
    rows = [{"crew": HOSTILE, "signs": [HOSTILE], "judged": "1\xa0234"}]
    print_rows(["crew", "signs", "judged"], rows, "table", table)
    # Blanks that keep a number together are seen.
    assert table.getvalue().splitlines()[1] == f"{NAMED}  {NAMED}  1\xa0234"


def test_several_faults_stand_under_the_first_line(
    capsys: pytest.CaptureFixture[str],
) -> None:
    complain(str(faults_error("bits.csv", ["row 2: thin", "row 9: thick"])))
    complain(str(faults_error("bits.csv", ["row 2: thin"])))
    assert capsys.readouterr().err == (
        "firmset: bits.csv: 2 faults:\n  row 2: thin\n  row 9: thick\n"
        "firmset: bits.csv: row 2: thin\n"
    )


def test_a_rejected_row_cannot_steer_the_terminal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path, [{"record_id": "R\x1b[2J", "setting_code": "\x9bX"}])
    assert main(["rejects", "--store", str(store.folder)]) == 0
    printed = capsys.readouterr().out
    assert "setting_code: '[U+009B]X'" in printed
    assert "R[U+001B][2J" in printed
    assert not [sign for sign in printed if sign < " " and sign != "\n"]


# A program has the moment whole; a person looks for the minute.
def test_a_moment_in_a_table_is_to_the_minute() -> None:
    lisbon = timezone(timedelta(hours=1))
    moments = [
        datetime(2026, 5, 4, 8, 15, 30, 250, tzinfo=UTC),
        datetime(2026, 5, 4, 9, 15, tzinfo=lisbon),
    ]
    rows = [{"loaded_at": moment} for moment in moments]
    out = io.StringIO()
    print_rows(["loaded_at"], rows, "table", out)
    said = ["2026-05-04 08:15 UTC", "2026-05-04 09:15+01:00"]
    assert out.getvalue().splitlines()[1:] == said
    whole = io.StringIO()
    print_rows(["loaded_at"], rows, "csv", whole)
    assert "2026-05-04T08:15:30.000250+00:00" in whole.getvalue()
