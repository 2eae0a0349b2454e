"""Drafting a site map: what is active is right, and what is not known is asked.

The logs of other languages stand in draft_logs.py.
"""

import gzip
import json
from pathlib import Path

import polars as pl
import pytest
import xlsxwriter

from demo_data.make_small_logs import SMALL_LOGS_FOLDER
from etl.draft.draft import draft_of
from etl.draft.drafted import Draft
from etl.draft.write import toml_of
from etl.intake import load_paths
from etl.site_map import SiteMap, read_site_map
from queries.errors import FirmsetError
from queries.store import Store
from tests.builders import NOW, write_setting_data
from tests.etl.draft_logs import FRENCH, LOGS, write_log

SMALL_LOGS = {
    "marl": "marl_anchors.csv",
    "nessel": "nessel_protokoll.csv",
    "oakum": "oakum_log.csv",
    "pumice": "pumice_book.xlsx",
    "quartz": "quartz_app.jsonl",
}


def site_map_of(draft: Draft, folder: Path) -> SiteMap:
    path = folder / f"{draft.path.name}.toml"
    path.write_text(toml_of(draft), "utf-8")
    return read_site_map(path)


def said(site_map: SiteMap) -> dict[str, tuple[str, str | None, bool]]:
    return {
        found.column.name: (found.header, found.unit, found.fill_down)
        for found in site_map.columns
    }


# Expected: the maps in demo_data/small_logs, written by hand before there were drafts.
# The words of words.toml were gathered by somebody who had seen these headers.
@pytest.mark.parametrize("name", SMALL_LOGS)
def test_a_small_log_gives_back_its_map(tmp_path: Path, name: str) -> None:
    expected = read_site_map(SMALL_LOGS_FOLDER / f"{name}.toml")
    drafted = site_map_of(draft_of(SMALL_LOGS_FOLDER / SMALL_LOGS[name]), tmp_path)
    wanted, found = said(expected), said(drafted)
    wrong = {
        column: place for column, place in found.items() if wanted[column] != place
    }
    assert not wrong
    assert len(found) >= 0.9 * len(wanted), wanted.keys() - found.keys()
    for way in ("encoding", "delimiter", "decimal", "header_row", "sheet"):
        assert getattr(drafted, way) == getattr(expected, way), way
    assert (drafted.date_format, drafted.match) == (
        expected.date_format,
        expected.match,
    )
    for column, codes in drafted.codes.items():
        assert codes.items() <= expected.codes[column].items()


# HB and SB are one site's own letters: no list of words can know them.
def test_a_word_nobody_knows_is_asked(tmp_path: Path) -> None:
    draft = draft_of(SMALL_LOGS_FOLDER / "nessel_protokoll.csv")
    assert set(draft.codes["drill_method"].unknown) == {"HB", "SB"}
    assert '# "HB" = "?"' in toml_of(draft)
    assert "drill_method" not in site_map_of(draft, tmp_path).codes


@pytest.mark.parametrize("language", LOGS)
def test_a_log_in_another_language(tmp_path: Path, language: str) -> None:
    log = LOGS[language]
    draft = draft_of(write_log(tmp_path / f"{language}.csv", log))
    site_map = site_map_of(draft, tmp_path)
    wanted = {
        column: (header, unit, False)
        for column, unit, header, _ in log.columns
        if column is not None
    }
    found = said(site_map)
    assert found.items() <= wanted.items()
    assert len(found) >= 0.9 * len(wanted), wanted.keys() - found.keys()
    assert site_map.codes == log.codes
    assert (site_map.delimiter, site_map.encoding) == (log.delimiter, log.encoding)
    assert (site_map.decimal, site_map.date_format) == (",", log.date_format)


# Words of the trade, with their accents and as a keyboard without them writes them.
PLAIN_HEADERS = [
    ("N°", "Référence de pose", "Couple"),
    ("No", "Reference de pose", "couple"),
    ("n°", "Réf. de pose", "COUPLE DE SERRAGE"),
    ("Nr.", "Setzanweisung", "Anzugsmoment"),
    ("Nr", "SETZANWEISUNG", "ANZUGSMOMENT"),
    ("Nº", "Código de montaje", "Par de apriete"),
    ("N.º", "Codigo de montaje", "PAR DE APRIETE"),
    ("Num.", "Cód. de montaje", "Par apriete"),
]


@pytest.mark.parametrize("headers", PLAIN_HEADERS, ids=" ".join)
def test_a_plain_header_is_known(tmp_path: Path, headers: tuple[str, ...]) -> None:
    number, setting, torque = headers
    path = write_csv(
        tmp_path,
        [number, "1", "2", "3"],
        ["Team", "A", "A", "B"],
        [setting, "M12-68", "M12-68", "M16-85"],
        ["Date", "2026-05-11", "2026-05-12", "2026-05-13"],
        [torque, "55", "53", "110"],
    )
    assert said(site_map_of(draft_of(path), tmp_path)) == {
        "record_id": (number, None, False),
        "crew_code": ("Team", None, False),
        "setting_code": (setting, None, False),
        "installed_on": ("Date", None, False),
        "setting_torque_nm": (torque, "Nm", False),
    }


# Hand-counted: three rows, 9.2 cm = 92 mm; the abandoned hole is kept too.
def test_a_drafted_map_loads_its_log(tmp_path: Path) -> None:
    path = write_log(tmp_path / "fr.csv", FRENCH)
    site_map_of(draft_of(path), tmp_path)
    write_setting_data(tmp_path)
    store = Store(tmp_path / "store")
    result = load_paths(store, [tmp_path], now=NOW)
    assert result.failures == ()
    receipt = result.receipts[-1]
    assert (receipt.loaded, receipt.rejected, receipt.field_faults) == (3, 0, 0)
    with store.reader() as con:
        rows = con.execute(
            "select record_id, installed_on::varchar, hole_depth_mm, outcome, "
            "isinf(edge_1_mm) from installation order by record_id"
        ).fetchall()
    assert rows == [
        ("F-1", "2026-05-11", 92.0, "set", False),
        ("F-2", "2026-05-12", 91.0, "set", True),
        ("F-3", "2026-05-13", 94.0, "abandoned", False),
    ]


def write_csv(folder: Path, *columns: list[str], name: str = "log.csv") -> Path:
    """Write columns, each with its header first."""
    path = folder / name
    rows = zip(*columns, strict=True)
    path.write_text("".join(";".join(row) + "\n" for row in rows), "utf-8")
    return path


NEEDED = (["Nr", "1", "2"], ["Kolonne", "A", "A"], ["Setzdaten", "X", "X"])


@pytest.mark.parametrize(
    "dates",
    [["03.04.2026", "05.04.2026"], ["3/4/26", "5/4/26"], ["13/4/26", "3/14/26"]],
)
def test_dates_that_can_be_read_two_ways_are_asked(
    tmp_path: Path, dates: list[str]
) -> None:
    draft = draft_of(write_csv(tmp_path, *NEEDED, ["Datum", *dates]))
    site_map = site_map_of(draft, tmp_path)
    assert (site_map.date_format, site_map.day_first) == (None, None)
    assert draft.dates.question
    toml = toml_of(draft)
    assert "# [dates]  # question: " in toml
    assert '# format = "%d' in toml and '# format = "%m' in toml


def test_dates_of_varying_form_say_only_the_order(tmp_path: Path) -> None:
    draft = draft_of(write_csv(tmp_path, *NEEDED, ["Datum", "13.4.2026", "14.04.26"]))
    site_map = site_map_of(draft, tmp_path)
    assert (site_map.date_format, site_map.day_first) == (None, True)


def test_a_header_below_titles_and_above_units(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text(
        "Neubau Muster, Halle 3;;;;;\n;;;;;\nProtokoll;;;;Bohrloch;\n"
        "Lfd. Nr.;Datum;Trupp;Setzdaten;Tiefe;Drehmoment\n;;;;cm;Nm\n"
        "1;2026-05-04;A;M12-68;9,2;55\n2;2026-05-05;A;M12-68;9,4;53,5\n",
        "utf-8",
    )
    draft = draft_of(path)
    site_map = site_map_of(draft, tmp_path)
    assert site_map.header_rows == (4, 5)
    assert said(site_map)["record_id"] == ("Lfd. Nr.", None, False)
    assert said(site_map)["hole_depth_mm"] == ("Tiefe cm", "cm", False)
    assert said(site_map)["setting_torque_nm"] == ("Drehmoment Nm", "Nm", False)
    assert any("row 3 above the header" in remark for remark in draft.remarks)


# Each column looks like one of ours at first sight, and is none, or is not to be read
# so: other words in the header, values of another kind, figures of another unit.
TRAPS = [
    ["Position", "P1", "P2", "P3", "P1"],
    ["Result", "i.O.", "n.i.O.", "i.O.", "i.O."],
    ["Reinigung", "2x geblasen", "3x geblasen", "2x geblasen", "keine Bürste da"],
    ["Bit", "12.1", "12.3", "12.2", "12.2"],
    ["Setting", "55", "55", "40", "55"],
    ["Design torque (Nm)", "55", "55", "55", "55"],
    [
        "Torque wrench calibration",
        "2026-01-01",
        "2026-01-01",
        "2026-01-01",
        "2026-01-01",
    ],
    ["Delivery date", "2026-04-13", "2026-04-14", "2026-04-15", "2026-04-16"],
    ["Depth mm", "9.2", "9.1", "9.4", "9.3"],
    ["Spacing", "12.5", "14", "20", "9.5"],
    ["Required hole depth mm", "90", "90", "90", "90"],
    ["Required hole depth (measured) mm", "90", "90", "90", "90"],
    ["Phone number", "555001", "555002", "555003", "555004"],
    ["Time", "14.2", "15.1", "13.8", "14.4"],
    ["Edge kN", "120", "130", "90", "85"],
    ["Type", "T1", "T2", "T1", "T1"],
    ["Torque in bar", "120", "130", "90", "85"],
    ["Team", "2026-05-04", "2026-05-05", "2026-05-06", "2026-05-07"],
    ["No.", "7", "7", "7", "7"],
    ["", "92", "93", "91", "92"],
]


@pytest.mark.parametrize("trap", TRAPS, ids=[trap[0] for trap in TRAPS])
def test_a_wrong_guess_is_never_active(tmp_path: Path, trap: list[str]) -> None:
    draft = draft_of(write_csv(tmp_path, trap, ["Wetter", "Sonne", "Regen", "?", ""]))
    assert draft.active == ()
    assert draft.not_found


# Two headers that mean the same: which of them is ours cannot be known.
def test_two_headers_alike_are_asked(tmp_path: Path) -> None:
    depths = (["Bohrtiefe mm", "92", "93"], ["Bohrlochtiefe mm", "90", "90"])
    draft = draft_of(
        write_csv(tmp_path, *NEEDED, ["Datum", "2026-05-04", "2026-05-05"], *depths)
    )
    [depth] = [one for one in draft.placed if one.column.name == "hole_depth_mm"]
    assert not depth.said.is_active
    assert "may be it" in depth.said.reason


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
        ("a.csv", b"", "the file is empty; send it again"),
        ("a.csv", b"\n", "no comma, semicolon, tab, bar cuts its rows"),
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
