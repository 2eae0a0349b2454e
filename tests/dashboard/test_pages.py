"""Pages of a real small store, read as a person reads them (counts: conftest.py)."""

from pathlib import Path

import duckdb
import pytest

from dashboard.address import parse_view
from dashboard.app import READ_ONLY
from dashboard.pages import (
    LATER,
    PAGES,
    crews,
    intake,
    method,
    records,
    sites,
)
from dashboard.uploads.work import work
from queries.readers.choices import Choices, read_choices
from queries.store import Store
from tests.builders import Row, build_store
from tests.dashboard.components import (
    graphs,
    hrefs,
    lead,
    rows,
    table,
    text,
    walk,
    whole_page,
)

Con = duckdb.DuckDBPyConnection


def _plain(words: str) -> str:
    return words.replace("\xa0", " ").replace("\u202f", " ")


def test_where_nothing_is_nonconforming_no_day_is_a_bad_one(tmp_path: Path) -> None:
    rows: list[Row] = [
        {"installed_on": f"2026-05-{1 + number % 28:02}"} for number in range(56)
    ]
    store = build_store(tmp_path, sites={"NORTH": rows, "SOUTH": rows})
    with store.reader() as con:
        choices = read_choices(con)
        view = parse_view("?check=setting_torque", choices)
        assert "bad days" not in text(sites.render(con, view, choices))


def test_sites_says_what_was_counted(con: Con, choices: Choices) -> None:
    view = parse_view("?check=setting_torque", choices)
    page = sites.render(con, view, choices)
    said = _plain(lead(page))
    # 4 of 50 judged at two sites; 3 of 13 due answers missing at NORTH.
    assert "8.0 % of the anchors judged at 2 sites are nonconforming (4/50)" in said
    # M12 on floors by hammer: 4 of 10 at NORTH, 0 of 30 at SOUTH, so none expected.
    assert (
        "Out of line for its mix of sizes, methods and orientations: Invented site "
        "NORTH, 4 nonconforming where none would be expected at the others' rates."
        in said
    )
    # All on one day a site.
    said_below = _plain(text(LATER["site mix"](con, view, choices)))
    assert (
        "Too few days to see whether nonconforming anchors come in bad days."
        in said_below
    )
    assert "Nothing to judge at Invented site EAST." in said
    assert "At Invented site NORTH 23.1 % of the answers are missing" in said


def test_sites_orders_by_name_and_never_says_zero_for_nothing(
    con: Con, choices: Choices
) -> None:
    page = sites.render(con, parse_view("", choices), choices)
    cells = [
        list(map(_plain, row)) for row in rows(table(page, "Setting torque by site"))
    ]
    assert [row[0][-5:] for row in cells] == [" EAST", "NORTH", "SOUTH"]
    assert cells[0][1:4] == ["0", "0", "nothing to judge"]
    # Wilson 95 % for 4 of 10: 16.8 to 68.7 % (Newcombe 1998, method 3 formula).
    assert cells[1][1:5] == ["10", "4", "40.0 %", "16.8–68.7 %"]
    assert cells[1][5:7] == ["2", "1"]
    assert cells[2][1:4] == ["40", "0", "0.0 %"]


def test_sites_are_compared_for_their_own_mix(con: Con, choices: Choices) -> None:
    page = LATER["site mix"](con, parse_view("", choices), choices)
    caption = "Setting torque, each site for its own mix"
    by_site = {
        row[0][-5:]: list(map(_plain, row)) for row in rows(table(page, caption))
    }
    # SOUTH: 30 of its 40 in the one cell that NORTH has, at its 4 of 10: 12 expected.
    assert by_site["SOUTH"][1:3] == ["0", "12.0 10 without a like"]
    assert by_site["NORTH"][5] == "▲ out of line"
    assert by_site["SOUTH"][5] == ""
    assert by_site[" EAST"][5] == "nothing to compare"


def test_crews_are_compared_too(con: Con, choices: Choices) -> None:
    page = LATER["crew mix"](con, parse_view("", choices), choices)
    caption = "Setting torque, each crew for its own mix"
    by_crew = {row[0]: list(map(_plain, row)) for row in rows(table(page, caption))}
    assert by_crew["C1"][5] == "▲ out of line"
    assert by_crew["C4"][5] == "nothing to compare"


def test_sites_filter_shows_one_but_compares_with_all(
    con: Con, choices: Choices
) -> None:
    page = sites.render(con, parse_view("?sites=NORTH", choices), choices)
    (row,) = rows(table(page, "Setting torque by site"))
    assert _plain(row[-1]) == "0.0 %"  # SOUTH, the only other with a result


def test_sites_counts_lead_to_their_anchors(con: Con, choices: Choices) -> None:
    page = sites.render(con, parse_view("", choices), choices)
    assert "/records?sites=NORTH&check=setting_torque" in hrefs(page)
    view = parse_view("?sites=NORTH&check=setting_torque", choices)
    behind = records.render(con, view, choices)
    assert lead(behind).startswith("4 records match: nonconforming in Setting torque")


def test_crews_grid_has_values_and_counts(con: Con, choices: Choices) -> None:
    page = LATER["crew grid"](con, parse_view("", choices), choices)
    grid = table(page, "Crews by check")
    by_crew = {row[0]: row for row in rows(grid)}
    torque = grid["heads"].index("Setting torque")
    assert _plain(by_crew["C1"][torque]) == "△ 100.0 % 4/4"
    assert _plain(by_crew["C3"][torque]) == "0.0 % 0/40"
    assert by_crew["C4"][torque] == "– 3 not recorded"


def test_crews_trends_put_sizes_in_order_of_diameter(
    con: Con, choices: Choices
) -> None:
    view = parse_view("", choices)
    names = [
        graph.id["name"]
        for part in ("crew trends", "size trends")
        for graph in graphs(LATER[part](con, view, choices))
    ]
    sizes = [name for name in names if name.startswith("anchor_size-")]
    assert sizes == ["anchor_size-M6", "anchor_size-M12"]
    # The crew whose interval starts highest, then the others; not C4: no result.
    assert [name for name in names if name.startswith("crew-")] == [
        "crew-C1",
        "crew-C2",
        "crew-C3",
    ]


def test_drilling_counts_abandoned_time(con: Con, choices: Choices) -> None:
    page = whole_page(con, "/drilling", parse_view("?sites=SOUTH", choices), choices)
    by_size = {row[0]: row for row in rows(table(page, "Drilling by size and method"))}
    # (30 x 10 s + 2 x 6 s) / 30 good holes; abandoned 2 of 32.
    assert by_size["M12"][2] == "10.4"
    assert by_size["M6"][2] == "4.0"
    assert list(by_size) == ["M6", "M12"]
    assert "2/42 attempts were abandoned" in lead(page)


def test_record_down_to_file_and_row(con: Con, choices: Choices) -> None:
    view = parse_view("?site=NORTH&record=R1", choices)
    page = records.render(con, view, choices)
    said = text(page)
    assert "nonconforming on setting torque" in lead(page)
    verdicts = {row[0]: row for row in rows(table(page, "Verdict of each check"))}
    # 20 Nm against 49.5 Nm.
    assert _plain(verdicts["Setting torque"][3]) == "−29.5 Nm"
    assert "under" in verdicts["Setting torque"]
    assert "NORTH_log.csv" in said
    assert "Row 2 of " in said


def test_record_unreadable_value_is_shown_as_written(
    con: Con, choices: Choices
) -> None:
    page = records.render(con, parse_view("?site=NORTH&record=R13", choices), choices)
    (fault,) = rows(table(page, "Unreadable values"))
    assert fault[:2] == ["setting_torque_nm", "firm"]


def test_record_that_is_not_there_is_said_in_words(con: Con, choices: Choices) -> None:
    page = records.render(con, parse_view("?site=NORTH&record=X", choices), choices)
    assert "no record “X” of site “NORTH”" in lead(page)


def test_intake_adds_up_and_keeps_the_rejected_row(con: Con, choices: Choices) -> None:
    page = intake.render(con, parse_view("", choices), choices)
    receipts = table(page, "Receipts of all files")
    place = receipts["heads"].index("File")
    north = next(row for row in rows(receipts) if row[place] == "NORTH_log.csv")
    read, *fates = (int(north[receipts["heads"].index(head)]) for head in _SUM)
    assert read == 15
    assert sum(fates) == read
    assert fates[-1] == 1
    (reject,) = rows(table(page, "Rejected rows with reasons"))
    assert reject[0] == "NORTH_log.csv"
    assert "LOST" in reject[-1]


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ({}, "Every value in the rows that were kept could be read."),
        (
            {"drill_s": "soon"},
            "1 value in rows that were kept could not be read; the check it belongs",
        ),
        (
            {"drill_s": "soon", "tilt_deg": "?!"},
            "2 values in rows that were kept could not be read; their checks count",
        ),
    ],
)
def test_intake_says_how_many_values_could_not_be_read(
    tmp_path: Path, cells: Row, words: str
) -> None:
    with build_store(tmp_path, [cells]).reader() as con:
        choices = read_choices(con)
        page = intake.render(con, parse_view("", choices), choices)
    assert words in lead(page)


_SUM = ("Rows read", "= loaded", "+ revised", "+ duplicate", "+ rejected")


def test_method_has_every_check_and_the_setting_data(
    con: Con, choices: Choices
) -> None:
    page = method.render(con, parse_view("", choices), choices)
    said = text(page)
    for title in ("Anchor length", "Hole cleaning", "Setting torque", "Edge distance"):
        assert title in said
    assert "Wilson" in said
    # What another textbook does differently is said.
    for choice in ("mid-p", "without the group itself", "Laney", "Holm", "EWMA"):
        assert choice in said
    assert "project default" in said
    assert [row[2] for row in rows(table(page, "Setting data"))] == ["M6", "M12"]


@pytest.mark.parametrize(
    ("path", "search", "parts"),
    [
        ("/method", "", 6),
        ("/intake", "", 5),
        ("/records", "?site=NORTH&record=R1", 5),
    ],
)
def test_long_pages_have_contents_that_lead_to_their_parts(
    tmp_path: Path, con: Con, choices: Choices, path: str, search: str, parts: int
) -> None:
    page = PAGES[path][1](con, parse_view(search, choices), choices)
    (nav,) = [
        each for each in walk(page) if getattr(each, "className", "") == "contents"
    ]
    led_to = [href.removeprefix("#") for href in hrefs(nav)]
    assert len(led_to) == parts
    there = [each.id for each in walk(page) if getattr(each, "className", "") == "at"]
    if path == "/intake":  # Its working part is filled in where it stands.
        filled = work(Store(tmp_path), READ_ONLY, "", "")
        there[2:2] = [
            each.id for each in filled if getattr(each, "className", "") == "at"
        ]
    assert led_to == there


def test_no_page_sends_its_readers_to_a_command_for_a_figure(
    con: Con, choices: Choices
) -> None:
    view = parse_view("?check=setting_torque", choices)
    parts = [
        sites.render(con, view, choices),
        crews.render(con, view, choices),
        *(
            LATER[part](con, view, choices)
            for part in ("site mix", "crew mix", "crossed crews")
        ),
    ]
    said = "\n".join(map(text, parts))
    assert "“A crew, or its inspector?” on Crews does that." in said
    for command in ("firmset compare", "firmset inspectors"):
        assert command not in said


def test_method_says_what_the_pages_do(con: Con, choices: Choices) -> None:
    said = text(method.render(con, parse_view("", choices), choices))
    assert "of the planned holes where they are given" in said
    assert "“A crew, or its inspector?” of Crews does" in said
    assert "are not taken out" not in said


@pytest.mark.parametrize("path", PAGES)
@pytest.mark.parametrize("search", ["?from=2030-01-01", "?sites=EAST", "?crews=C3"])
def test_every_page_of_a_narrow_selection(
    con: Con, choices: Choices, path: str, search: str
) -> None:
    _, render = PAGES[path]
    page = render(con, parse_view(search, choices), choices)
    assert lead(page)
    assert "nan" not in text(page).lower().split()


def test_no_page_offers_to_upload_a_chart(con: Con, choices: Choices) -> None:
    view = parse_view("", choices)
    renders = [*(render for _, render in PAGES.values()), *LATER.values()]
    shown = [
        graph for render in renders for graph in graphs(render(con, view, choices))
    ]
    assert len(shown) > 5
    for graph in shown:
        assert graph.config["displayModeBar"] is False
        assert graph.config["showSendToCloud"] is False
        assert "sendChartToCloud" in graph.config["modeBarButtonsToRemove"]


def test_record_shows_the_drawing_and_all_checks(con: Con, choices: Choices) -> None:
    view = parse_view("?site=NORTH&record=R1", choices)
    page = records.render(con, view, choices)
    shown = str(page)
    assert "The anchor cut through" in shown
    assert "Indicative cone ratio" in shown and "It is no capacity" in shown
    for title in ("Torque tool", "Drill bit", "Spacing", "Tilt"):
        assert title in shown


def test_a_number_is_asked_for_in_full_and_not_as_an_integer(
    con: Con, choices: Choices
) -> None:
    form = str(records.render(con, parse_view("", choices), choices))
    assert "label='Record number, in full'" in form
    assert "whole number" not in form


def test_a_hole_that_the_bolt_cannot_be_in_is_asked_about(tmp_path: Path) -> None:
    shallow = build_store(tmp_path, [{"hole_depth_mm": "60"}])
    with shallow.reader() as con:
        choices = read_choices(con)
        view = parse_view("?site=SITE-1&record=R1", choices)
        said = text(records.render(con, view, choices))
    assert "hole 60 mm deep, but the length, fixture, packing" in said
