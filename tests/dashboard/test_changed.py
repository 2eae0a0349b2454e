"""What changed since last month, and what to look at first, as a reader gets them."""

from datetime import date
from pathlib import Path

import pytest

from dashboard.app import create_app, route
from dashboard.later import render_part
from dashboard.pages import LATER
from dashboard.sheets.read import read_sheet
from queries.readers.choices import read_choices
from queries.selection import Selection
from queries.store import Store
from tests.builders import Row, build_store
from tests.dashboard.components import graphs, hrefs, rows, table, text, walk

MAY, JUNE = date(2027, 5, 1), date(2027, 6, 1)


def month(first: date, count: int, bad: int, blank: int = 0) -> list[Row]:
    torques = ["75"] * bad + ["55"] * (count - bad - blank) + [""] * blank
    return [
        {
            "installed_on": first.replace(day=1 + number % 20).isoformat(),
            "setting_torque_nm": torque,
        }
        for number, torque in enumerate(torques)
    ]


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """WORSE 4/200 then 40/200; FELL 40/200 then 0/120, 80 blank; NEW; GONE; two short.

    Two anchors of WORSE sit 40 and 50 mm in the concrete where 68 mm are required.
    """
    short = [
        {"installed_on": MAY, "record_id": name, "embedment_mm": mm}
        for name, mm in (("A-50", 50), ("B-40", 40))
    ]
    return build_store(
        tmp_path_factory.mktemp("changed"),
        sites={
            "WORSE": [*month(MAY, 200, 4), *month(JUNE, 200, 40), *short],
            "FELL": [*month(MAY, 200, 40), *month(JUNE, 200, 0, blank=80)],
            "NEW": month(JUNE, 20, 0),
            "GONE": month(MAY, 20, 1),
        },
    )


def part(store: Store, name: str, search: str = "") -> object:
    return render_part(store, LATER, name, search)


def plain(component: object) -> str:
    return text(component).replace("\xa0", " ")


def test_changes_in_words(store: Store) -> None:
    said = plain(part(store, "site changes"))
    assert (
        "Setting torque at Invented site WORSE rose from 2.0 % (4/202) to 20.0 % "
        "(40/200): +18.0 points" in said
    )
    # A fall that 80 missing answers of 200 could undo: 0 + 80 of 200.
    assert (
        "Setting torque at Invented site FELL fell from 20.0 % (40/200) to 0.0 % "
        "(0/120)" in said
    )
    assert (
        "But recording fell too: 40.0 % of the answers are missing, after 0.0 %; with "
        "them the rate may be up to 40.0 %." in said
    )
    assert "More answers are missing: setting torque at Invented site FELL" in said
    assert "New in 2027-06: Invented site NEW (20 installations)." in said
    assert "Sent nothing in 2027-06: Invented site GONE (20 the month before)." in said


def test_a_fall_that_what_was_missing_before_as_well_could_undo(
    tmp_path: Path,
) -> None:
    log = [*month(MAY, 200, 40, blank=60), *month(JUNE, 200, 2, blank=60)]
    said = plain(part(build_store(tmp_path, log), "site changes"))
    # As many were missing before: 2 + 60 of 200 are more than 40 of 140.
    assert (
        "Setting torque at Invented site SITE-1 fell from 28.6 % (40/140) to 1.4 % "
        "(2/140)" in said
    )
    assert (
        "But 30.0 % of the answers are missing, as 30.0 % were before; with them the "
        "rate may be up to 31.0 %." in said
    )


def test_a_rise_owed_to_the_mix_is_not_called_one(tmp_path: Path) -> None:
    """Like work fell, 50 % to 30 % and 3 % to 1 %; harder work came instead."""
    kinds = [("hammer", MAY, 100, 50), ("core", MAY, 900, 27)]
    kinds += [("hammer", JUNE, 900, 270), ("core", JUNE, 100, 1)]
    log = [
        row | {"drill_method": method}
        for method, first, count, bad in kinds
        for row in month(first, count, bad)
    ]
    made = build_store(tmp_path, log)
    section = part(made, "site changes", "?check=setting_torque")
    assert (
        "fell within like work, though the plain rate went from 7.7 % (77/1000) to "
        "27.1 % (271/1000): +19.4 points" in plain(section)
    )
    content = table(section, "Setting torque, 2027-05 and 2027-06")
    assert rows(content)[0][6] == "fell within like work"


def test_changes_table_leads_to_the_month(store: Store) -> None:
    section = part(store, "site changes", "?check=setting_torque")
    content = table(section, "Setting torque, 2027-05 and 2027-06")
    cells = [[cell.replace("\xa0", " ") for cell in row] for row in rows(content)]
    assert [row[0] for row in cells] == ["Invented site FELL", "Invented site WORSE"]
    assert cells[1][1:3] == ["2.0 % 4/202", "20.0 % 40/200"]
    assert [row[6] for row in cells] == ["fell", "▲ rose"]
    assert cells[0][8] == "0 % to 40 %"
    assert (
        "/records?from=2027-06-01&to=2027-06-30&sites=WORSE&check=setting_torque"
        in hrefs(section)
    )


def test_changes_as_a_picture(store: Store) -> None:
    [chart] = graphs(part(store, "site changes", "?check=setting_torque"))
    [points] = [one for one in chart.figure.data if one.name == "changed"]
    # 0/120 - 40/200 and 40/200 - 4/202 in points, in order of name; both stand out.
    assert list(points.x) == pytest.approx([-20.0, 100 * (40 / 200 - 4 / 202)])
    assert list(points.y) == [0, 1]
    assert chart.figure.layout.yaxis.ticktext[0] == "Invented site FELL"


def test_nothing_changed_is_no_clearance(store: Store) -> None:
    """Tilt is not logged and so no look; of the other checks nothing changed."""
    said = plain(part(store, "site changes", "?sizes=M12&check=any_check&sites=GONE"))
    assert "no site has anything judged in both that compares" in said
    said = plain(part(store, "site changes", "?to=2027-05-20"))
    assert "No whole month with anything logged lies in these dates" in said


def test_changes_by_crew_and_as_csv(store: Store) -> None:
    assert "crew" in plain(part(store, "crew changes"))
    client = create_app(store).server.test_client()
    lines = client.get("/csv/site-changes").text.splitlines()
    assert lines[0].startswith("group,check,earlier_judged,earlier_nonconforming")
    assert any(line.startswith("WORSE,setting_torque,202,4,0,200,40") for line in lines)


def test_anchors_of_lowest_ratio_first(store: Store) -> None:
    section = part(store, "lowest ratios", "?check=setting_torque")
    cells = rows(table(section, "Anchors to look at first"))
    # (40/68)^1.5 = 45 %, (50/68)^1.5 = 63 % (EN 1992-4 7.2.1.4, by hand).
    assert [(row[0], row[6]) for row in cells] == [
        ("B-40", "45\xa0%"),
        ("A-50", "63\xa0%"),
    ]
    assert "No nonconforming anchor" in plain(
        part(store, "lowest ratios", "?sites=NEW")
    )


def test_contents_lead_to_parts_of_the_page(store: Store) -> None:
    for path in ("/sites", "/crews"):
        page = route(store, path, "")[0]
        names = {
            part.id for part in walk(page) if isinstance(getattr(part, "id", None), str)
        }
        targets = [href[1:] for href in hrefs(page) if href.startswith("#")]
        assert len(targets) >= 5
        assert set(targets) <= names


def changed_part(store: Store, code: str) -> tuple[str, ...]:
    """Return what a site's sheet says of the months, words with plain spaces."""
    with store.reader() as con:
        sheet = read_sheet(con, "site", code, Selection(), read_choices(con))
    parts = [*sheet.parts_before, *sheet.parts_after]
    [found] = [
        each.sentences
        for each in parts
        if each.heading == "What changed since last month"
    ]
    return tuple(said.replace("\xa0", " ") for said in found)


# The words of the page, of this site alone, and weighed among the looks at all sites.
def test_a_site_sheet_says_what_changed_there(store: Store) -> None:
    page = plain(part(store, "site changes"))
    worse, fell = changed_part(store, "WORSE"), changed_part(store, "FELL")
    assert worse[0].startswith("Setting torque at Invented site WORSE rose from 2.0 %")
    assert worse[0] in page and fell[0] in page
    assert not any("FELL" in said for said in worse)
    assert any(said.startswith("New in 2027-06") for said in changed_part(store, "NEW"))
    [gone] = changed_part(store, "GONE")
    assert gone.startswith("Sent nothing in 2027-06: Invented site GONE")


def test_a_site_sheet_without_a_change_is_no_clearance(tmp_path: Path) -> None:
    both = [*month(MAY, 20, 1), *month(JUNE, 20, 1)]
    store = build_store(tmp_path, sites={"SAME": both, "OTHER": both})
    [said] = changed_part(store, "SAME")
    assert said.startswith("2027-06 beside 2027-05: nothing that these counts could")
    assert "no clearance" in said


def test_work_begun_this_month_is_no_excuse(tmp_path: Path) -> None:
    """4/200 of M12 in May; in June 14/100 of M12, and of M10 first set then 40/100.

    13.0 points of the M12's own 12 are doing; of the M10 nothing tells.
    """
    m10: Row = {"setting_code": "Z-M10-60", "anchor_size": "M10"}
    begun = [row | {"setting_code": "Z-M10-60"} for row in month(JUNE, 100, 40)]
    store = build_store(
        tmp_path,
        settings=[{}, m10],
        sites={"BEGAN": [*month(MAY, 200, 4), *month(JUNE, 100, 14), *begun]},
    )
    said = plain(part(store, "site changes"))
    assert "rose from 2.0 % (4/200) to 27.0 % (54/200)" in said
    assert (
        "; 100 of its 200 (40 nonconforming) are of kinds not done the month before, "
        "so that mix and doing cannot be told apart."
    ) in said
    assert "its mix of work makes" not in said
