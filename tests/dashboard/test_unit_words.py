"""Values typed in another unit are asked about before anybody is called out of line.

0.7376 ft·lbf a Nm: NIST SP 811, appendix B.8; 55 Nm are the setting data's here.
"""

from pathlib import Path

import pytest

from dashboard.address import parse_view
from dashboard.later import render_part
from dashboard.pages import LATER, crews, sites
from dashboard.sheets.read import read_sheet
from queries.readers.choices import read_choices
from queries.store import Store
from tests.builders import Row, build_store, load, write_log
from tests.dashboard.components import lead, text

DAYS = [f"2026-05-{day:02}" for day in range(4, 14)]


def anchors(torque: str, count: int = 60) -> list[Row]:
    return [
        {
            "record_id": f"R{at}",
            "revision": "0",
            "installed_on": DAYS[at % 10],
            "setting_torque_nm": torque,
        }
        for at in range(count)
    ]


@pytest.fixture
def store(tmp_path: Path) -> Store:
    """At FT 40.57 stand for 55 Nm: 40.57 ft·lbf."""
    return build_store(
        tmp_path, settings=[{}], sites={"FT": anchors("40.57"), "NM": anchors("55")}
    )


def crews_lead(store: Store, search: str = "") -> str:
    return text(render_part(store, LATER, "retrain first", search))


def test_pages_begin_with_the_question(store: Store) -> None:
    with store.reader() as con:
        choices = read_choices(con)
        said = lead(sites.render(con, parse_view("", choices), choices))
        selection = parse_view("", choices).selection
        sheet = read_sheet(con, "site", "FT", selection, choices).lead
        assert (
            "about units" not in read_sheet(con, "site", "NM", selection, choices).lead
        )
    for shown in (said, sheet, crews_lead(store)):
        assert shown.startswith("Ask Invented site FT about units first: 60 of 60")
        assert "as if ft·lbf had been typed as Nm (FT_log.csv)." in shown
    assert "about units" not in crews_lead(store, "?sites=NM")


def test_crews_begin_with_it_where_the_check_is_chosen(store: Store) -> None:
    with store.reader() as con:
        choices = read_choices(con)
        view = parse_view("?check=setting_torque", choices)
        said = lead(crews.render(con, view, choices))
    assert said.startswith("Ask Invented site FT about units first: 60 of 60")


def test_values_sent_again_ask_nothing_any_more(store: Store, tmp_path: Path) -> None:
    again = [row | {"revision": "1", "setting_torque_nm": "55"} for row in anchors("")]
    load(store, write_log(tmp_path / "again", again, site="FT"))
    assert "about units" not in crews_lead(store)
