"""What a site map says of a log of several sites: read, drafted, and stored.

Expected by hand.
"""

from pathlib import Path

import pytest
import xlsxwriter

from dashboard.terminal.drafting import questions
from etl.draft.draft import draft_of
from etl.draft.write import toml_of
from etl.site_map import read_site_map
from etl.site_map.sites import places_of
from etl.store_maps import keep_map, maps_of
from queries.errors import FirmsetError
from tests.builders import build_store, load
from tests.etl.company_logs import HEADS, SITES, row, write_map, write_rows


@pytest.mark.parametrize(
    ("cell", "place"),
    [
        *[("Quay 3", 0), (" quay  3 ", 0), ("QUAY-03", 0), ("Q3", 0), ("q 3", 0)],
        *[("Hall A", 1), ("hall-a", 2), ("HALLA", None), ("", None), ("Quay", None)],
    ],
)
def test_a_word_names_a_site(tmp_path: Path, cell: str, place: int | None) -> None:
    # Two sites whose words differ in a dash alone are told by just these words.
    sites = '"Quay 3" = "Q3"\n"Hall A" = "EAST"\n"Hall-A" = "WEST"'
    within = read_site_map(write_map(tmp_path, sites=sites)).sites
    assert within is not None
    assert places_of(within, [cell]) == ({} if place is None else {cell: place})


SITE_FAULTS = {
    "": ("[site] from = 'Project' without [sites]: expected a line there",),
    '"Quay 3" = 3': ("line 7: [sites] 'Quay 3' = 3: expected \"HARBOUR\", its code",),
    '"Quay 3" = {name = "Quay"}': ("expected a text as code",),
    '"Quay 3" = {code = "Q", nam = "Quay"}': ("has no key 'nam', expected name",),
    '"Quay 3" = {code = "Q", name = ""}': ("expected a text as name",),
    f'"Quay 3" = "{"Q" * 101}"': ("code has 101 characters, expected at most 100",),
    '"Quay 3" = {code = "Q", time_zone = "Mars"}': (
        "[sites] 'Quay 3' time_zone = 'Mars': expected an IANA name",
    ),
    '" " = "Q"': ("a blank cell names no site",),
    '"Quay 3" = "Q"\n"quay  3" = "Q"': ("is the same word as 'Quay 3'",),
    '"A" = {code = "Q", name = "Quay"}\n"B" = {code = "Q", name = "Pier"}': (
        "line 8: [sites] B name = 'Pier': is 'Quay' of the same site, Q",
    ),
}


@pytest.mark.parametrize(("sites", "words"), SITE_FAULTS.items())
def test_a_fault_of_the_sites_is_told(
    tmp_path: Path, sites: str, words: tuple[str, ...]
) -> None:
    with pytest.raises(FirmsetError) as error:
        read_site_map(write_map(tmp_path, sites=sites))
    for word in words:
        assert word in str(error.value)


@pytest.mark.parametrize(
    ("line", "other", "words"),
    [
        ('from = "Project"', 'code = "Q"', "[site] lacks from: expected what says"),
        ('from = "Project"', 'from = "P"\ncode = "Q"', "[site] code = 'Q' is that of"),
        ('time_zone = "Europe/Lisbon"', "", "[sites] HARBOUR has no time_zone"),
    ],
)
def test_a_site_or_several(tmp_path: Path, line: str, other: str, words: str) -> None:
    path = write_map(tmp_path)
    path.write_text(path.read_text("utf-8").replace(line, other), "utf-8")
    with pytest.raises(FirmsetError) as error:
        read_site_map(path)
    assert words in str(error.value)


def test_a_sent_map_of_several_sites_replaces_the_last(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    keep_map(store, "company.toml", write_map(tmp_path / "a").read_bytes())
    wider = write_map(tmp_path / "a", sites=SITES + '"Mill" = "MILL"')
    keep_map(store, "wider.toml", wider.read_bytes())
    other = write_map(tmp_path / "a", match="weekly*", sites=SITES + '"Mill" = "MILL"')
    keep_map(store, "wider.toml", other.read_bytes())
    sent = [one for one in maps_of(store) if one.was_sent]
    # By the names of files that it is for, or by its own name.
    assert [
        (one.in_force, one.site_map.match, len(one.site_map.all_sites))
        for one in sent
        if one.site_map
    ] == [(True, "weekly*", 3), (False, "export*", 2), (False, "export*", 3)]


def test_a_draft_takes_a_column_of_sites(tmp_path: Path) -> None:
    rows = [
        # Numbers within a crew would do as well, were they not a site's own.
        row(number, project, Crew="K1" if project == "Harbour hall" else "K2")
        for number in range(1, 9)
        for project in ("Harbour hall", "Quay 3", "quay-03")
        if (number % 2 == 0) == (project == "quay-03") or project == "Harbour hall"
    ]
    path = write_rows(tmp_path / "export.csv", rows)
    toml = toml_of(draft_of(path))
    assert '"quay-03" = "QUAY-3"  # likely: it is \'Quay 3\', written otherwise' in toml
    assert "within" not in toml
    site_map = tmp_path / "export.toml"
    asked_for = '# setting_code = "?"  # needed'
    assert asked_for in toml  # No word says that a "Code" is that of the setting data.
    answered = toml.replace(asked_for, 'setting_code = "Code"  # needed')
    site_map.write_text(answered, "utf-8")
    store = build_store(tmp_path)
    result = load(store, path)
    # Each site has numbers of its own, so that none comes again.
    assert [(one.site_code, one.loaded) for one in result.receipts] == [
        *[("HARBOUR-HALL", 8), ("QUAY-3", 8)]
    ]
    asked = draft_of(path, is_of_one_site=True)
    assert asked.sites is None
    assert "if these are sites, say so: [site] from = 'Project'" in asked.remarks[0]
    assert toml_of(asked, "HARBOUR").count("[sites]") == 0


def test_a_draft_sees_merged_cells_of_sites(tmp_path: Path) -> None:
    rows = [row(number, "Quay 3" if number == 1 else "") for number in range(1, 5)]
    rows += [row(number, "Mill" if number == 1 else "") for number in range(1, 5)]
    book = tmp_path / "export.xlsx"
    with xlsxwriter.Workbook(book) as target:
        sheet = target.add_worksheet()
        for place, cells in enumerate([HEADS, *rows]):
            sheet.write_row(place, 0, cells)
    toml = toml_of(draft_of(book))
    assert "\nfill_down = true  # likely: 75% of its cells are blank" in toml
    # Texts have no merged cells: there it is asked.
    asked = draft_of(write_rows(tmp_path / "export.csv", rows))
    assert "# fill_down = true  # guess: 75% of its cells are blank: do" in toml_of(
        asked
    )
    assert any("sites: 75%" in question for question in questions(asked))
    assert 'record_id = "No"  # likely: each site has numbers of its own' in toml


# Of a site's number and its name, each says the other; of two areas of a site, not.
@pytest.mark.parametrize(
    ("names", "said"),
    [
        (("Dock A", "North tower"), 'name = "North tower"}  # guess: the name is from'),
        (("Dock A", "Dock A"), 'name = "12"}  # guess: write code and name'),
        (("Dock A", ""), 'name = "12"}  # guess: write code and name'),
    ],
)
def test_a_draft_names_sites_by_another_column(
    tmp_path: Path, names: tuple[str, str], said: str
) -> None:
    rows = [
        [*row(number, project), name]
        for number in range(1, 7)
        for project, name in zip(("11", "12"), names, strict=True)
    ]
    path = write_rows(tmp_path / "export.csv", rows)
    text = (
        path.read_text("utf-8")
        .replace("Project", "Job No")
        .replace("Depth", "Depth,Job Name")
    )
    path.write_text(text, "utf-8")
    assert f'"12" = {{code = "12", {said}' in toml_of(draft_of(path))


def test_a_draft_takes_titles_of_sites_between_the_rows(tmp_path: Path) -> None:
    heads = [name for name in HEADS if name != "Project"]
    lines = [",".join(heads)]
    for project in ("Harbour hall", "Quay 3"):
        lines.append(f"Project: {project}{',' * (len(heads) - 1)}")
        rows = (row(number, "") for number in range(1, 5))
        lines += [",".join(cell for cell in one if cell) for one in rows]
    path = tmp_path / "export.csv"
    path.write_text("\n".join(lines), "utf-8")
    toml = toml_of(draft_of(path))
    assert 'titles = ["Project"]' in toml
    (tmp_path / "export.toml").write_text(
        f'{toml}\n[columns.setting_code]\nfrom = "Code"'
    )
    result = load(build_store(tmp_path), path)
    # The title of each site is no installation of it.
    assert [(one.site_code, one.loaded, one.settled) for one in result.receipts] == [
        *[("HARBOUR-HALL", 4, 1), ("QUAY-3", 4, 1)]
    ]
    assert [
        "1 row is a title of those below" in one.remarks for one in result.receipts
    ] == [True] * 2


@pytest.mark.parametrize("is_above", [True, False])
def test_a_draft_takes_the_name_that_a_file_says(
    tmp_path: Path, is_above: bool
) -> None:
    path = tmp_path / "form.csv"
    rows = [row(number, "Harbour hall") for number in range(1, 5)]
    if is_above:
        place = HEADS.index("Project")
        table = [one[:place] + one[place + 1 :] for one in [HEADS, *rows]]
        lines = [",".join(one) for one in table]
        path.write_text("\n".join(["Project: Harbour hall", *lines]), "utf-8")
    else:
        write_rows(path, rows)
    toml = toml_of(draft_of(path))
    assert "code = \"HARBOUR-HALL\"  # guess: from 'Project'" in toml
    assert "name = \"Harbour hall\"  # likely: 'Project' says so" in toml
    asked_for = toml_of(draft_of(path, is_of_one_site=True), "HH")
    assert 'code = "HH"  # sure: it was asked for' in asked_for
    assert 'name = "Harbour hall"' in asked_for


@pytest.mark.parametrize(
    ("names", "is_asked"),
    [
        (("Harbour", "Quay 3"), True),
        (("Mo", "Di"), False),
        (("Mai 26", "Juni 26"), False),
        (("KW 21", "KW 22"), False),
        (("Sheet1", "Sheet2"), False),
        (("1", "2"), False),
    ],
)
def test_a_draft_asks_whether_sheets_are_sites(
    tmp_path: Path, names: tuple[str, ...], is_asked: bool
) -> None:
    path = tmp_path / "export.xlsx"
    heads = [name for name in HEADS if name != "Project"]
    with xlsxwriter.Workbook(path) as book:
        for name in names:
            sheet = book.add_worksheet(name)
            for place in range(1, 5):
                sheet.write_row(place, 0, [cell for cell in row(place, "") if cell])
            sheet.write_row(0, 0, heads)
    remarks = draft_of(path).remarks
    asked = [one for one in remarks if one.startswith("sheets 'Harbour', 'Quay 3': if")]
    assert (asked != []) is is_asked
    assert bool(remarks) is is_asked
    assert draft_of(path, is_of_one_site=True).remarks == ()


# A map refuses a word that stands twice; capitals and blanks do not count in it.
def test_a_draft_writes_each_word_once(tmp_path: Path) -> None:
    words = ("Quay 3", "quay  3", "QUAY 3", "Mill")
    rows = [row(number, word) for number in range(1, 5) for word in words]
    toml = toml_of(draft_of(write_rows(tmp_path / "export.csv", rows)))
    lines = [line for line in toml.splitlines() if "{code = " in line]
    assert [line.split(" = ")[0] for line in lines] == ['"Quay 3"', '"Mill"']
    assert "written otherwise" not in toml
