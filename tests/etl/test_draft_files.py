"""Drafts of packed files, workbooks, Parquet and texts that are hard to read."""

import gzip
import json
from pathlib import Path

import polars as pl
import pytest
import xlsxwriter

from etl.draft.draft import draft_of
from etl.draft.write import toml_of
from etl.site_map import read_site_map
from queries.errors import FirmsetError
from tests.etl.draft_logs import FRENCH, write_log
from tests.etl.test_draft import NEEDED, said, site_map_of, write_csv


def test_a_packed_log_with_a_date_in_its_name(tmp_path: Path) -> None:
    plain = write_log(tmp_path / "fr.csv", FRENCH)
    packed = tmp_path / "fr_2026-05-13.csv.gz"
    packed.write_bytes(gzip.compress(plain.read_bytes()))
    draft = draft_of(packed)
    assert draft.match == "fr_*.csv.gz"
    assert said(site_map_of(draft, tmp_path)).keys() >= {"record_id", "hole_depth_mm"}


def test_a_packed_log_is_known_by_its_bytes(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_bytes(gzip.compress(b"Crew;Date\nA;2026-05-04\nB;2026-05-05\n"))
    draft = draft_of(path)
    assert {one.column.name: one.header for one in draft.active} == {
        "crew_code": "Crew",
        "installed_on": "Date",
    }


def test_parquet_has_names_and_values(tmp_path: Path) -> None:
    path = tmp_path / "log.parquet"
    pl.DataFrame(
        {
            "id": ["1", "2"],
            "at": ["2026-05-04T08:00:00Z", "2026-05-04T09:00:00Z"],
            "crew": ["A", "A"],
            "setting": ["X", "X"],
            "holeDepth": [92.0, 93.5],
            "rebarHit": [True, False],
        }
    ).write_parquet(path)
    assert set(said(site_map_of(draft_of(path), tmp_path))) == {
        *("record_id", "installed_at", "crew_code", "setting_code"),
        *("hole_depth_mm", "rebar_hit"),
    }


def test_the_sheet_with_the_log_is_found(tmp_path: Path) -> None:
    path = tmp_path / "book.xlsx"
    with xlsxwriter.Workbook(path) as book:
        book.add_worksheet("Deckblatt").write_row(0, 0, ["Projekt", "Muster"])
        sheet = book.add_worksheet("Protokoll & Co")
        for row, cells in enumerate(
            [
                ["Nr", "Datum", "Kolonne", "Setzdaten", "Tiefe [mm]"],
                ["1", "2026-05-04", "A", "X", "92"],
                ["2", "", "", "X", "93"],
                ["3", "", "", "X", "91"],
            ]
        ):
            sheet.write_row(row, 0, cells)
    draft = draft_of(path)
    site_map = site_map_of(draft, tmp_path)
    assert site_map.sheet == "Protokoll & Co"
    assert said(site_map)["installed_on"] == ("Datum", None, True)
    assert draft_of(path, "Deckblatt").not_found
    with pytest.raises(FirmsetError, match=r"has no sheet 'Blatt9'"):
        draft_of(path, "Blatt9")


# In a text nothing was merged; that blanks repeat the value above is a question.
def test_blanks_in_a_text_are_asked(tmp_path: Path) -> None:
    draft = draft_of(
        write_csv(
            tmp_path, *NEEDED, ["Datum", "2026-05-04", ""], ["Tiefe mm", "92", "93"]
        )
    )
    assert not said(site_map_of(draft, tmp_path))["installed_on"][2]
    assert "#   fill_down = true in installed_on? 50% of its cells" in toml_of(draft)


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("a.csv", b"", "the file is empty; save it anew, send that"),
        ("a.csv", b"\n", "no comma, semicolon, tab, bar cuts its rows"),
        (
            "a.csv",
            b'"No,Date,Crew"\n"1,2026-05-04,A"\n"2,2026-05-04,B"\n',
            "every line is in quotes, as one cell with a comma in it; export it again",
        ),
        ("a.csv", b'"No;Date"\n"1;2026-05-04"\n', "as one cell with a semicolon in it"),
        ("a.csv", b'"No"\n"1"\n', "no comma, semicolon, tab, bar cuts its rows"),
        ("a.jsonl", b"[1]\nnot json\n", "holds no rows"),
        ("a.xlsx", b"PK", "is text, not an .xlsx workbook"),
        ("a.parquet", b"PAR1", "is a damaged Parquet file"),
        ("a.csv.gz", b"a,b", "cannot be read: Not a gzipped file"),
        ("a.pdf", b"%PDF-1.7", "is a PDF document, not a log; send the table itself"),
        ("a.dat", b"a,b", "cannot read text in files ending in .dat"),
        ("a.json", b"rows\n", "is no JSON; expected a list of objects"),
        ("a.json", b'{"rows": [\n', "holds no rows"),
        ("a.xlsx.gz", b"", "is packed with gzip, which only .csv, .txt, .tsv"),
    ],
)
def test_a_file_that_cannot_be_read_says_why(
    tmp_path: Path, name: str, content: bytes, words: str
) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(FirmsetError) as error:
        draft_of(path)
    assert words in str(error.value)
    assert "\n" not in str(error.value)


# What stands for a month, a week or a number of the file; a hall's number stays.
@pytest.mark.parametrize(
    ("name", "later"),
    [
        ("riverside_nov.csv", "riverside_*.csv"),
        ("März 2026 Halle.csv", "* Halle.csv"),
        ("tower_2_dez.csv", "tower_2_*.csv"),
        ("hafen_kw45.csv", "hafen_kw*.csv"),
        ("log (2).csv", "log (*).csv"),
        ("hall 4.11.csv", "hall 4.*.csv"),
        # No word is left, nothing varies, and a set of anchors is no September.
        ("nov.csv", None),
        ("yard.csv", None),
        ("anchor_set.csv", None),
        # A date varies as it is, without being asked.
        ("yard_2026-11-04.csv", None),
    ],
)
def test_a_pattern_for_the_files_to_come_is_a_guess(
    tmp_path: Path, name: str, later: str | None
) -> None:
    source = write_csv(tmp_path, *NEEDED, ["Tiefe mm", "92", "93"])
    lines = toml_of(draft_of(source.rename(tmp_path / name))).splitlines()
    guessed = [line for line in lines if line.startswith("# match = ")]
    taken = [line.partition("  # ")[0] for line in guessed]
    assert taken == ([f'# match = "{later}"'] if later else [])


# A header may hold what TOML forbids or treats as its own.
def test_odd_headers_are_written_as_toml_reads_them(tmp_path: Path) -> None:
    path = tmp_path / "log.jsonl"
    odd = {'crew "x" \\ \x07': "A", "id\x7f": "1", "date # 2": "2026-05-04", "é\n": "1"}
    path.write_text(json.dumps(odd) + "\n" + json.dumps(odd | {"id\x7f": "2"}), "utf-8")
    toml = toml_of(draft_of(path), 'A"B')
    map_path = tmp_path / "odd.toml"
    map_path.write_text(toml, "utf-8")
    with pytest.raises(FirmsetError, match=r"\[columns\] lacks setting_code"):
        read_site_map(map_path)


@pytest.mark.parametrize("codec", ["utf-16-le", "utf-16-be"])
def test_text_of_two_bytes_a_sign_is_known_without_a_mark(
    tmp_path: Path, codec: str
) -> None:
    path = tmp_path / "log.csv"
    path.write_bytes("Crew;Date\nA;2026-05-04\nB;2026-05-05\n".encode(codec))
    draft = draft_of(path)
    assert draft.encoding is not None
    assert (draft.encoding.value, draft.header.names) == ("utf-16", ("Crew", "Date"))
