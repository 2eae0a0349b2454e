"""A wrench code under which two sites set anchors on one day is asked about.

Expected by hand: W-7 is logged at NORTH and SOUTH on 20 and 21 May 2026.
"""

from pathlib import Path

import pytest

from dashboard.command import main
from dashboard.shared_wrench_words import shared_wrench_lines
from queries.readers.shared_wrenches import SharedWrench, read_shared_wrenches
from queries.store import Store
from tests.builders import Row, build_store
from tests.dashboard.components import lead, whole_answer


def calibrated(wrench: str) -> Row:
    return {
        "wrench_code": wrench,
        "calibrated_on": "2026-01-05",
        "range_low_nm": "20",
        "range_high_nm": "120",
    }


def set_on(wrench: str, *days: str) -> list[Row]:
    return [{"wrench_code": wrench, "installed_on": f"2026-05-{day}"} for day in days]


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    folder: Path = tmp_path_factory.mktemp("shared")
    # W-8 moves from one site to the other; of W-9 no calibration is known.
    north = {"W-7": ("19", "20", "21", "21"), "W-8": ("19",), "W-9": ("20",)}
    south = {"w-7": ("20", "21", "22"), "W-8": ("20",), "W-9": ("20",)}
    sites = {
        site: [row for wrench, days in logged.items() for row in set_on(wrench, *days)]
        for site, logged in (
            ("NORTH", north),
            ("SOUTH", south),
            ("WEST", {"W-8": ("21",)}),
        )
    }
    sheet = [calibrated("W-7"), calibrated("W-8")]
    return build_store(folder, sites=sites, calibrations=sheet)


def test_only_a_day_at_two_sites_tells(store: Store) -> None:
    with store.reader() as con:
        [found] = read_shared_wrenches(con)
    assert found.site_codes == ("NORTH", "SOUTH")
    assert (found.days, str(found.first_on)) == (2, "2026-05-20")


def test_intake_and_the_terminal_ask(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = (
        "Ask Invented site NORTH and Invented site SOUTH whether W-7 is two wrenches: "
        "each site set anchors with it on the same day, 2026-05-20 first, on 2 days in "
        "all. Its calibrations and uses count for every site that logs it; two "
        "wrenches need a code each."
    )
    assert asked in lead(whole_answer(store, "/intake", ""))
    capsys.readouterr()
    assert main(["receipts", "--store", str(store.folder)]) == 0
    shown = capsys.readouterr()
    assert asked in shown.out + shown.err
    assert main(["receipts", "--store", str(store.folder), "--format", "csv"]) == 0
    shown = capsys.readouterr()
    assert "two wrenches" not in shown.out + shown.err


def test_of_many_the_first_have_a_line_each(store: Store) -> None:
    with store.reader() as con:
        [one] = read_shared_wrenches(con)
    many = [SharedWrench(f"T{n}", one.site_codes, 1, one.first_on) for n in range(5)]
    *named, rest = shared_wrench_lines(many, {})
    assert len(named) == 3
    assert "on 1 day in all" in named[0]
    assert rest == "So for T3 and T4."
    assert shared_wrench_lines([], {}) == []
