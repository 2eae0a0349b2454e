"""A wrench found out of tolerance is spoken of where a reader decides.

W-7 is calibrated on 10 May and 10 June 2026 and found out by the second.
"""

import json
from pathlib import Path
from urllib.parse import parse_qsl

import pytest

from dashboard.command import main
from dashboard.kept import read_kept_found_out
from dashboard.sheets.read import read_sheet
from dashboard.wrench_words import found_out_lines
from queries.readers.choices import read_choices
from queries.selection import Selection
from queries.store import Store
from tests.builders import Row, build_store
from tests.dashboard.components import hrefs, lead, rows, table, text, whole_answer

RANGE: Row = {"range_low_nm": "20", "range_high_nm": "120"}
FOUND: list[Row] = [
    RANGE | {"wrench_code": "W-7", "calibrated_on": "2026-05-10"},
    RANGE | {"wrench_code": "W-7", "calibrated_on": "2026-06-10", "as_found": "out"},
]


def set_on(*days: str, wrench: str = "W-7", **more: object) -> list[Row]:
    return [{"wrench_code": wrench, "installed_on": day} | more for day in days]


# N4 is abandoned, N5 of the day of the second calibration: neither is meant.
NORTH: list[Row] = [
    {"record_id": f"N{at}"} | row
    for at, row in enumerate(
        [
            *set_on("2026-05-10", "2026-06-09", crew_code="C1"),
            *set_on("2026-05-20", crew_code="C2", setting_torque_nm="20"),
            *set_on("2026-05-20", crew_code="C1", outcome="abandoned"),
            *set_on("2026-06-10", crew_code="C1"),
        ],
        start=1,
    )
]
SOUTH: list[Row] = [
    *({"record_id": "S1"} | row for row in set_on("2026-06-01", crew_code="C3")),
    {"record_id": "S2", "crew_code": "C4"},
]


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    folder: Path = tmp_path_factory.mktemp("found_out")
    return build_store(
        folder, sites={"NORTH": NORTH, "SOUTH": SOUTH}, calibrations=FOUND
    )


def said(anchors: str, who: str, where: str, conforming: int) -> str:
    more = "" if anchors.startswith("4") else "; the wrench set 4 in all"
    return (
        f"Wrench W-7 was found out of tolerance on 2026-06-10: the torque of {anchors} "
        f"that {who} set with it at {where} since 2026-05-10 ({conforming} judged "
        f"conforming{more}) is not known. The engineer responsible decides what to "
        "check or retest."
    )


BOTH = said(
    "4 anchors", "crews C1, C2 and C3", "Invented site NORTH and Invented site SOUTH", 3
)
NORTHERN = said("3 anchors", "crews C1 and C2", "Invented site NORTH", 2)
JUNE = said(
    "2 anchors", "crews C1 and C3", "Invented site NORTH and Invented site SOUTH", 2
)
OF_C2 = said("1 anchor", "crew C2", "Invented site NORTH", 0)


@pytest.mark.parametrize("path", ["/sites", "/crews"])
@pytest.mark.parametrize("check", ["", "&check=setting_torque"])
@pytest.mark.parametrize(
    ("search", "expected", "records"),
    [
        ("", BOTH, ["N1", "N2", "N3", "S1"]),
        ("&sites=NORTH", NORTHERN, ["N1", "N2", "N3"]),
        ("&sites=NORTH&crews=C2", OF_C2, ["N3"]),
        ("&from=2026-06-01", JUNE, ["N2", "S1"]),
    ],
)
def test_pages_say_it_and_lead_to_exactly_these_anchors(
    store: Store,
    capsys: pytest.CaptureFixture[str],
    path: str,
    check: str,
    search: str,
    expected: str,
    records: list[str],
) -> None:
    page = whole_answer(store, path, f"?{check}{search}")
    assert expected in text(page)
    [href] = {each for each in hrefs(page) if "wrench=W-7" in each}
    listed = whole_answer(store, "/records", href.partition("?")[2])
    shown = rows(table(listed, "Records that match"))
    assert sorted(row[0].split()[0] for row in shown) == records
    # The terminal's options for the same.
    names = {"sites": "site", "crews": "crew"}
    options = [
        part
        for name, value in parse_qsl(href.partition("?")[2])
        for part in (f"--{names.get(name, name)}", value)
    ]
    asked = ["records", "--store", str(store.folder), *options, "--format", "json"]
    assert main(asked) == 0
    told = json.loads(capsys.readouterr().out)
    assert sorted(row["record_id"] for row in told) == records


@pytest.mark.parametrize("path", ["/sites", "/crews"])
@pytest.mark.parametrize("search", ["?crews=C4", "?sites=SOUTH&crews=C1"])
def test_nothing_is_said_where_none_of_them_is_chosen(
    store: Store, path: str, search: str
) -> None:
    assert "out of tolerance" not in text(whole_answer(store, path, search))


@pytest.mark.parametrize(
    ("kind", "code", "selection", "expected"),
    [
        ("site", "NORTH", Selection(), NORTHERN),
        ("crew", "C2", Selection(), OF_C2),
        ("crew", "C4", Selection(), None),
        ("crew", "C2", Selection(site_codes=("SOUTH",)), None),
    ],
)
def test_sheets_say_it_behind_their_lead(
    store: Store, kind: str, code: str, selection: Selection, expected: str | None
) -> None:
    with store.reader() as con:
        sheet = read_sheet(con, kind, code, selection, read_choices(con))
    if expected is None:
        assert "out of tolerance" not in sheet.counted
    else:
        assert sheet.counted.endswith(expected)


def test_without_an_earlier_calibration(tmp_path: Path) -> None:
    store = build_store(tmp_path, set_on("2026-06-09"), calibrations=FOUND[1:])
    page = whole_answer(store, "/sites", "")
    assert (
        "the torque of 1 anchor that crew CREW-1 set with it at Invented site SITE-1 "
        "before, with no earlier calibration known, (1 judged conforming) is not known."
    ) in text(page)
    [href] = {each for each in hrefs(page) if "wrench=W-7" in each}
    assert href == (
        "/records?to=2026-06-09&verdict=any&outcome=not-abandoned&wrench=W-7"
    )


def test_no_wrench_goes_unnamed(tmp_path: Path) -> None:
    """Five, the last found first: three with a line each, two named in one."""
    codes = [f"W-{at}" for at in range(1, 6)]
    log = [row for code in codes for row in set_on("2026-05-01", wrench=code)]
    records = [
        RANGE
        | {"wrench_code": code, "calibrated_on": f"2026-06-0{at}", "as_found": "out"}
        for at, code in enumerate(codes, start=1)
    ]
    store = build_store(tmp_path, log, calibrations=records)
    with store.reader() as con:
        lines = found_out_lines(read_kept_found_out(con, Selection()), {})
    assert [line[: len("Wrench W-5")] for line in lines[:3]] == [
        *("Wrench W-5", "Wrench W-4", "Wrench W-3")
    ]
    also = "W-2 on 2026-06-02 (1 anchor); W-1 on 2026-06-01 (1 anchor)."
    assert lines[3:] == [f"Also found out of tolerance: {also}"]
    page = whole_answer(store, "/sites", "")
    assert text(page).replace("\n", "").count(lines[3]) == 1
    assert {each[-3:] for each in hrefs(page) if "wrench=" in each} == set(codes)


@pytest.mark.parametrize("record_id", ["N1", "N2", "N3"])
def test_a_record_says_it_of_itself_on_the_page_and_in_the_terminal(
    store: Store, capsys: pytest.CaptureFixture[str], record_id: str
) -> None:
    expected = (
        "Wrench W-7, calibrated on 2026-05-10, was found out of tolerance on "
        "2026-06-10: the torque of this anchor is not known, whatever was logged. The "
        "engineer responsible decides whether to check or retest it."
    )
    page = whole_answer(store, "/records", f"?site=NORTH&record={record_id}")
    assert expected in text(page)
    assert lead(page).endswith("Its wrench was found out of tolerance later.")
    printed, found = recorded(store, capsys, record_id)
    assert expected in printed
    assert found == {
        "wrench_code": "W-7",
        "calibrated_on": "2026-05-10",
        "found_on": "2026-06-10",
    }


def recorded(
    store: Store, capsys: pytest.CaptureFixture[str], record_id: str
) -> tuple[str, object]:
    """Return what `firmset record` prints of a record of NORTH, on one line."""
    asked = ["record", "--store", str(store.folder), "NORTH", record_id]
    assert main(asked) == 0
    printed = " ".join(capsys.readouterr().out.split())
    assert main([*asked, "--format", "json"]) == 0
    return printed, json.loads(capsys.readouterr().out)["found_out"]


# Abandoned, and set on the day of the second calibration.
@pytest.mark.parametrize("record_id", ["N4", "N5"])
def test_other_records_say_nothing(
    store: Store, capsys: pytest.CaptureFixture[str], record_id: str
) -> None:
    page = whole_answer(store, "/records", f"?site=NORTH&record={record_id}")
    assert "out of tolerance" not in text(page)
    printed, found = recorded(store, capsys, record_id)
    assert ("out of tolerance" in printed, found) == (False, None)


def test_a_record_whose_wrench_has_no_earlier_calibration(tmp_path: Path) -> None:
    store = build_store(tmp_path, set_on("2026-06-09"), calibrations=FOUND[1:])
    page = whole_answer(store, "/records", "?site=SITE-1&record=R1")
    assert (
        "Wrench W-7, with no earlier calibration known, was found out of tolerance on "
        "2026-06-10"
    ) in text(page)
