"""Drafting a site map: what is active is right, and what is not known is asked.

The logs of other languages stand in draft_logs.py.
"""

from pathlib import Path

import pytest

from demo_data.make_small_logs import SMALL_LOGS_FOLDER
from etl.draft.draft import draft_of
from etl.draft.drafted import Draft
from etl.draft.write import toml_of
from etl.intake import load_paths
from etl.site_map import SiteMap, read_site_map
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
