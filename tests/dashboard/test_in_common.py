"""A fault of the whole site is no crew's, and one anchor no site's. By hand."""

from pathlib import Path

import pytest

from dashboard.command import main
from dashboard.sheets.read import read_sheet
from queries.readers.choices import read_choices
from queries.selection import Selection
from queries.store import Store
from tests.builders import Row, build_store
from tests.dashboard.components import text, whole_answer

SAID = (
    "Ask first what all crews there lack: beside the other sites setting torque at "
    "Invented site BAD (80/240,"
)


def rows(crews: str, bad: int, count: int = 120) -> list[Row]:
    """Return rows of each crew over twenty days, the first `bad` set too hard."""
    return [
        {
            "record_id": f"{crew}{number}",
            "crew_code": crew,
            "installed_on": f"2026-05-{1 + number % 20:02d}",
            "setting_torque_nm": "80" if number < bad else "60",
        }
        for crew in crews
        for number in range(count)
    ]


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """All crews of BAD fail 40 of 120, those of two others 2."""
    return build_store(
        tmp_path_factory.mktemp("common"),
        sites={
            "BAD": rows("AB", 40),
            "GOOD": rows("CD", 2),
            "FAIR": rows("EF", 2),
        },
    )


def test_crews_of_a_site_begin_with_what_they_have_in_common(store: Store) -> None:
    page = text(whole_answer(store, "/crews", "?sites=BAD"))
    assert SAID in page
    assert page.index(SAID) < page.index("No crew stands out")
    assert SAID[:30] not in text(whole_answer(store, "/crews", "?sites=GOOD"))
    assert SAID[:30] not in text(whole_answer(store, "/crews", ""))


def test_the_terminal_and_the_sheet_say_so(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    where = ["--site", "BAD", "--store", str(store.folder)]
    assert main(["retrain", *where]) == 0
    assert capsys.readouterr().out.startswith(SAID)
    with store.reader() as con:
        selection = Selection(site_codes=("BAD",))
        sheet = read_sheet(con, "crew", "A", selection, read_choices(con))
    first = sheet.parts_before[0]
    assert first.heading == "What the whole site has in common"
    assert first.sentences[0].startswith(SAID)


@pytest.mark.parametrize(("bad", "is_flagged"), [(1, False), (2, True)])
def test_one_anchor_puts_no_site_out_of_line(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    bad: int,
    is_flagged: bool,
) -> None:
    # All of its anchors beside 2 of 800: chance does that 1 time of 400 or less.
    sites = {"MANY": rows("CD", 1, count=400), "FEW": rows("G", bad, count=bad)}
    store = build_store(tmp_path, sites=sites)
    asked = ["compare", "--check", "setting_torque", "--store", str(store.folder)]
    assert main(asked) == 0
    assert ("FEW, 2 nonconforming" in capsys.readouterr().out) is is_flagged
