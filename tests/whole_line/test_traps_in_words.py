"""Traps of reading a log, through the words and figures of terminal and pages."""

from pathlib import Path

import numpy as np
import pytest

from dashboard.app import route
from dashboard.command import main
from queries.store import Store
from tests.builders import Row, build_store
from tests.dashboard.components import text

TORQUE = ("--check", "setting_torque")


def said(
    capsys: pytest.CaptureFixture[str], store: Store, command: str, *options: str
) -> str:
    capsys.readouterr()
    assert main([command, *options, "--store", str(store.folder)]) == 0
    return " ".join(capsys.readouterr().out.replace("\xa0", " ").split())


# A month of 1,400 due of which a site's 100 were not recorded: 65 of 1,300, not 65 of
# 1,400 = 4.64 %, which is only the range's lower end. And a site with nothing recorded
# keeps its row, and has no rate.
def test_unrecorded_is_no_pass(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    found: list[Row] = [
        {"setting_torque_nm": "75" if number < 65 else "55"} for number in range(1300)
    ]
    blank: Row = {"setting_torque_nm": ""}
    store = build_store(
        tmp_path, sites={"FULL": [*found, *[blank] * 100], "SILENT": [blank] * 20}
    )
    shown = said(capsys, store, "rates", "--by", "month,site", *TORQUE)
    # (165 of 1,400 if none of the missing conformed.)
    assert "FULL setting_torque 1400 1300 65 100 0 0 5.00 % 3.94 %" in shown
    assert "4.64 % 11.79 %" in shown
    assert "SILENT setting_torque 20 0 0 20 0 0 nothing to judge" in shown
    assert "0.00 % 100.00 %" in shown
    page = text(route(store, "/sites", "?check=setting_torque")[0])
    page = page.replace("\xa0", " ").replace("\u202f", " ")
    assert "5.0 % of the anchors judged at 1 site are nonconforming (65/1300)" in page
    assert "Nothing to judge at Invented site SILENT" in page


@pytest.fixture(scope="module")
def odd(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Six records: a torque found low later, two spellings of a crew, a day that never
    was, and an hour that the clock change of Lisbon left out."""
    return build_store(
        tmp_path_factory.mktemp("odd"),
        [
            {
                "record_id": "LATER",
                "recheck_torque_nm": "25",
                "recheck_at": "2026-05-06T14:00",
            },
            {"record_id": "ONE", "crew_code": "C-07"},
            {"record_id": "TWO", "crew_code": "c07 "},
            {"record_id": "NEVER", "installed_on": "31.02.2026"},
            {
                "record_id": "SPRING",
                "installed_on": "2026-03-29",
                "installed_at": "2026-03-29 01:30",
            },
            {"record_id": "PLAIN"},
        ],
    )


def test_a_torque_found_later_is_not_judged(
    odd: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    shown = said(capsys, odd, "record", "SITE-1", "LATER")
    assert "setting_torque conforming +5.5 Nm set to 55 Nm" in shown
    assert "Found later (preload relaxes: not judged): recheck torque nm" in shown
    # Five loaded, none outside.
    assert " 5 5 0 " in said(capsys, odd, "rates", "--by", "site", *TORQUE)
    page = text(route(odd, "/records", "?site=SITE-1&record=LATER")[0])
    page = " ".join(page.replace("\xa0", " ").split())
    assert "no recorded check is nonconforming" in page
    assert "25 Nm, 45 % of the torque at setting" in page
    assert "Preload relaxes: not judged" in page


def test_two_spellings_are_one_crew_and_it_is_said(
    odd: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    shown = said(capsys, odd, "rates", "--by", "crew", *TORQUE)
    assert "C-07 setting_torque 2 2 0" in shown
    assert "c07" not in shown.lower()
    assert "crew_code C07 read as C-07" in said(capsys, odd, "receipts")


def test_a_day_that_never_was_is_reported(
    odd: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "installed_on: '31.02.2026', no such date" in said(capsys, odd, "rejects")


def test_an_hour_the_clocks_left_out_is_reported(
    odd: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    shown = said(capsys, odd, "record", "SITE-1", "SPRING")
    # The day stays, the instant does not, and its text and the reason are shown.
    assert "installed_on 2026-03-29" in shown
    assert "installed_at 2026-03-29 01:30" in shown
    assert "clock" in shown


def test_sizes_come_by_diameter(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sizes = ("M12", "M10", "M8", "M6")
    store = build_store(
        tmp_path,
        [{"setting_code": size} for size in sizes],
        settings=[{"setting_code": size, "anchor_size": size} for size in sizes],
    )
    shown = said(capsys, store, "rates", "--by", "anchor_size", *TORQUE)
    found = [word for word in shown.split() if word in sizes]
    assert found == ["M6", "M8", "M10", "M12"]


# 40 ft.lbf are 54.2 Nm; typed as Nm they lie at 0.74 of the torque asked for.
def test_torques_in_another_unit_are_a_question(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    typed = 55 / 1.3558179 * (1 + 0.02 * np.random.default_rng(40).normal(size=60))
    store = build_store(
        tmp_path, [{"setting_torque_nm": f"{torque:.1f}"} for torque in typed]
    )
    shown = said(capsys, store, "receipts")
    assert "at 0.74 of the setting torque, as if ft·lbf had been typed as Nm" in shown
    assert "a question about units for the site; nothing was changed" in shown
    page = text(route(store, "/intake", "")[0])
    assert "as if ft·lbf had been typed as Nm" in page
