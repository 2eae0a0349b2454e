"""What revisions changed, in words: on the pages, in a file and in the terminal."""

import csv
import io
import json
from pathlib import Path

import pytest

from dashboard.app import create_app
from dashboard.command import main
from dashboard.later import render_part
from dashboard.pages import LATER
from dashboard.revised_words import CAUTION, NONE
from dashboard.sheets.read import read_sheet
from queries.readers.choices import read_choices
from queries.readers.revised import read_much_mended, read_revised
from queries.selection import Selection
from queries.store import Store
from tests.builders import Row, build_store, load, write_log
from tests.dashboard.components import text, whole_answer


def logged(site: str, torques: str) -> list[Row]:
    """Return an anchor for each torque, 55 Nm (conforming), 40 (not) or - (blank)."""
    cells = {"5": "55", "4": "40", "-": ""}
    return [
        {"record_id": f"{site}{number}", "setting_torque_nm": cells[sign]}
        for number, sign in enumerate(torques)
    ]


@pytest.fixture
def store(tmp_path: Path) -> Store:
    """EAST: 4/5 and now 1/5, MID: 2/4 as it was, WEST: none revised."""
    first = {"EAST": "44445", "MID": "4455", "WEST": "4444"}
    sites = {site: logged(site, torques) for site, torques in first.items()}
    store = build_store(tmp_path, sites=sites)
    for site, torques in (("EAST", "5554-"), ("MID", "4")):
        rows = [row | {"revision": "1"} for row in logged(site, torques)]
        load(store, write_log(tmp_path / site, rows, site=site).parent)
    return store


# Counted by hand from the logs above; EAST's blank was conforming at first.
SAID = (
    "6 records of this selection have been revised. Of their first entries on setting "
    "torque, 3 were nonconforming and are conforming now; 1 had an answer and has "
    "none now. Most mended are Invented site EAST's (3): 80.0 % (4/5) were "
    "nonconforming as first logged, 25.0 % (1/4) are now. Of the sites with revised "
    "records, Invented site EAST has the highest rate as first logged, 80.0 % (4/5); "
    f"as it stands now Invented site MID has, 50.0 % (2/4). {CAUTION}"
)


def plain(words: str) -> str:
    """Return words with ordinary blanks."""
    return " ".join(words.split())


def test_the_page_says_what_the_terminal_says(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    page = plain(text(whole_answer(store, "/sites", "?check=setting_torque")))
    folder = str(store.folder)
    command = ["revisions", "--store", folder, "--check", "setting_torque"]
    assert main(command) == 0
    printed = plain(capsys.readouterr().out)
    assert SAID in page
    assert SAID in printed
    crews = text(whole_answer(store, "/crews", "?check=setting_torque"))
    assert "Most mended are CREW-1's (3)" in crews
    assert main([*command, "--records", "--format", "json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert [one["change"] for one in found].count("mended") == 3


def test_another_check_that_was_mended_is_named(store: Store) -> None:
    page = text(whole_answer(store, "/sites", "?check=hole_depth"))
    assert "No verdict on hole depth changed by it." in page
    assert "Most often setting torque was mended (3)." in page
    every = text(whole_answer(store, "/sites", "?check=any_check"))
    assert "was mended (" not in every


def test_the_files_hold_the_counts_and_the_records(store: Store) -> None:
    client = create_app(store).server.test_client()

    def rows(question: str) -> list[dict[str, str]]:
        answer = client.get(f"/csv/{question}?check=setting_torque")
        return list(csv.DictReader(io.StringIO(answer.get_data(as_text=True))))

    assert [
        (row["group"], row["first_nonconforming"], row["nonconforming"])
        for row in rows("site-revised")
    ] == [("EAST", "4", "1"), ("MID", "2", "2")]
    assert [row["group"] for row in rows("crew-revised")] == ["CREW-1"]
    changed = [row["record_id"] for row in rows("revised-records") if row["change"]]
    assert changed == ["EAST0", "EAST1", "EAST2", "EAST4"]


# 5 of 8 entries under the band, of which all are within it now: and 4 are too few.
@pytest.mark.parametrize(("mended", "is_said"), [(5, True), (4, False)])
def test_the_sheet_of_a_site_says_what_was_mended(
    tmp_path: Path, mended: int, *, is_said: bool
) -> None:
    store = build_store(tmp_path, logged("R", "4" * mended + "555"))
    later = [row | {"revision": "1"} for row in logged("R", "5" * mended)]
    load(store, write_log(tmp_path / "later", later).parent)
    with store.reader() as con:
        choices = read_choices(con)
        sheet = read_sheet(con, "site", "SITE-1", Selection(), choices)
    said = {part.heading: part.sentences for part in sheet.parts_after}
    assert ("Mended by revisions" in said) is is_said
    if is_said:
        [sentence] = said["Mended by revisions"]
        assert plain(sentence) == (
            "Setting torque: 5 first entries that were nonconforming have been revised "
            "and conform now. As first logged 62.5 % (5/8) were nonconforming, now 0.0 "
            "% (0/8). Ask what was done: a figure was mistyped, or the anchor was set "
            "again."
        )


# 6 of 8 at A and 5 of 5 at B were under the band; nothing else was revised.
def test_the_lead_of_sites_says_what_was_mended(tmp_path: Path) -> None:
    first = {"A": "44444455", "B": "44444", "C": "4455"}
    sites = {site: logged(site, torques) for site, torques in first.items()}
    store = build_store(tmp_path, sites=sites)
    for site, number in (("A", 6), ("B", 5), ("C", 2)):
        rows = [row | {"revision": "1"} for row in logged(site, "5" * number)]
        load(store, write_log(tmp_path / site, rows, site=site).parent)

    def said(search: str) -> str:
        return plain(text(render_part(store, LATER, "too good", search)))

    sentence = (
        "Invented site A, setting torque: 6 first entries that were nonconforming have "
        "been revised and conform now. As first logged 75.0 % (6/8) were "
        "nonconforming, now 0.0 % (0/8)."
    )
    end = "What revisions changed"
    assert said("") == f"{sentence} 1 more case likewise. {end}"
    assert said("?check=setting_torque") == said("")
    assert said("?sites=A") == f"{sentence} {end}"
    for nothing in ("?check=hole_depth", "?check=any_check", "?sites=C"):
        assert said(nothing) == ""


def test_what_little_was_mended_is_on_no_sheet(tmp_path: Path) -> None:
    store = build_store(tmp_path, logged("R", "4" * 51))
    later = [row | {"revision": "1"} for row in logged("R", "5" * 5)]
    load(store, write_log(tmp_path / "later", later).parent)
    with store.reader() as con:
        assert read_much_mended(con, Selection(), read_revised(con)).is_empty()


def test_one_record_is_one(tmp_path: Path) -> None:
    store = build_store(tmp_path, logged("R", "4"))
    rows = [row | {"revision": "1"} for row in logged("R", "5")]
    load(store, write_log(tmp_path / "later", rows).parent)
    page = text(whole_answer(store, "/crews", "?check=setting_torque"))
    assert "1 record of this selection has been revised." in page


def test_without_a_revision_that_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path, [{}])
    assert NONE in text(whole_answer(store, "/sites", ""))
    check = ["--check", "tilt", "--store", str(store.folder)]
    assert main(["revisions", *check]) == 0
    assert capsys.readouterr().out.strip() == NONE
    assert main(["revisions", "--check", "nothing", "--store", str(store.folder)]) == 2


def test_of_two_highest_rates_none_gave_its_place_away(tmp_path: Path) -> None:
    """Both 50.0 % at first: that A's is lower now takes no place from B."""
    sites = {site: logged(site, "4455") for site in ("A", "B")}
    store = build_store(tmp_path, sites=sites)
    for site, torques in (("A", "5"), ("B", "4")):
        rows = [row | {"revision": "1"} for row in logged(site, torques)]
        load(store, write_log(tmp_path / site, rows, site=site).parent)
    page = plain(text(whole_answer(store, "/sites", "?check=setting_torque")))
    assert "Most mended are Invented site A's" in page
    assert "has the highest rate" not in page
