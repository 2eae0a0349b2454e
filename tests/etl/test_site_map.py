"""A site map: what it says is read, and each fault is named with its line."""

import re
from datetime import date
from pathlib import Path

import pytest

from etl.site_map import SiteMap, read_site_map
from queries.errors import FirmsetError

# The numbers of its lines are counted by hand and used below.
GOOD = """\
[site]
code = " yard "
name = "Invented yard"
time_zone = "Europe/Lisbon"
[files]
match = "yard_*.csv"
[dates]
day_first = true
[columns]
record_id = "no"
installed_on = "date"
crew_code = "crew"
setting_code = "set"
hole_depth_mm = {from = "depth", unit = "cm"}
drill_method = "drill"
edge_1_mm.from = "edge"
edge_1_mm.unit = "in"
brush_count = "strokes"
note = "note"
cleaned = "clean"
[codes.drill_method]
HB = "hollow_bit"
[codes]
edge_1_mm = {frei = "clear", "12 or so" = 12.5}
brush_count = {"full set" = 2}
note.weg = "gone"
cleaned.ja = true
"""


def read(folder: Path, text: str) -> SiteMap:
    path = folder / "yard.toml"
    path.write_text(text, "utf-8", newline="")
    return read_site_map(path)


def test_read_site_map(tmp_path: Path) -> None:
    site_map = read(tmp_path, GOOD)
    assert site_map.site_code == "YARD"
    assert (site_map.day_first, site_map.date_format) == (True, None)
    assert site_map.codes == {
        "drill_method": {"hb": "hollow_bit"},
        "edge_1_mm": {"frei": "clear", "12 or so": "12.500000"},
        "brush_count": {"full set": "2"},
        "note": {"weg": "gone"},
        "cleaned": {"ja": "true"},
    }
    by_name = {found.column.name: found for found in site_map.columns}
    depth = by_name["hole_depth_mm"]
    # NIST SP 811: 1 cm = 10 mm.
    assert (depth.header, depth.unit, depth.factor) == ("depth", "cm", 10.0)
    assert (by_name["edge_1_mm"].header, by_name["edge_1_mm"].unit) == ("edge", "in")
    assert site_map.fits(Path("yard_may.csv"))
    assert not site_map.fits(Path("other.csv"))


def test_the_maps_that_the_manual_shows_are_valid(tmp_path: Path) -> None:
    manual = (Path(__file__).parents[2] / ".readme/site-maps.md").read_text("utf-8")
    shown, listed, of_several = re.findall(r"```toml\n(.*?)```", manual, re.DOTALL)
    assert read(tmp_path, shown).site_code == "HARBOUR"
    rest = shown[shown.index("[files]") :]
    found = read(tmp_path, f"{shown}\n{listed}").listed
    assert found is not None
    assert found.headers == ("Anchor no.", "Check item", "Result", "Unit")
    sites = read(tmp_path, of_several + rest).all_sites
    assert [site.code for site in sites] == ["HARBOUR", "MILL"]
    assert [site.name for site in sites] == ["Harbour sheds", "Mill lane"]


# A number stands for the cell, so it is read with the site's decimal sign.
def test_a_code_that_is_a_number_has_the_sites_decimal_sign(tmp_path: Path) -> None:
    site_map = read(tmp_path, GOOD.replace("[dates]", "decimal = ','\n[dates]"))
    assert site_map.codes["edge_1_mm"]["12 or so"] == "12,500000"


def test_a_name_may_have_a_hundred_characters(tmp_path: Path) -> None:
    text = GOOD.replace("Invented yard", "y" * 100)
    assert read(tmp_path, text).site_name == "y" * 100


def test_valid_from_is_a_date(tmp_path: Path) -> None:
    text = GOOD.replace("[dates]", "valid_from = 2026-03-01\n[dates]")
    assert read(tmp_path, text).valid_from == date(2026, 3, 1)


# What is put for what, and the line and words of the fault.
FAULTS = [
    ('"Europe/Lisbon"', '"Lisbon"', 4, "[site] time_zone = 'Lisbon': expected an IANA"),
    (
        '"Europe/Lisbon"',
        '"localtime"',
        4,
        "[site] time_zone = 'localtime': expected an",
    ),
    ('time_zone = "Europe/Lisbon"\n', "", 1, "[site] lacks time_zone: expected an"),
    ('" yard "', '" "', 2, "[site] code = ' ': expected a short code"),
    ('"Invented yard"', "3", 3, "[site] name = 3: expected the site's name"),
    ("[site]", "site.a = 1\n[place]\n[sites]", 1, "[site] has no key 'a', expected"),
    ("[files]", "[place]\na = 1\n[files]", 5, "unknown table [place], expected site,"),
    ("[dates]", "[[dates]]", 7, "[dates] = [{'day_first': True}]: expected a table"),
    ("[files]", "[files]\nencoding = 'ebcdic'", 6, "[files] encoding = 'ebcdic': exp"),
    ("[files]", "[files]\ndelimiter = ';;'", 6, "[files] delimiter = ';;': expected o"),
    ("[files]", "[files]\ndelimiter = '.'", 6, "delimiter = '.': is the decimal sign"),
    ("[files]", "[files]\ndelimiter = '\"'", 6, "expected one character, and no lette"),
    ("[files]", "[files]\ndecimal = ';'", 6, "[files] decimal = ';': expected one of"),
    ("[files]", "[files]\nheader_row = 0", 6, "[files] header_row = 0: expected a row"),
    ("[files]", "[files]\nheader_row = true", 6, "header_row = True: expected a row"),
    ("[files]", "[files]\nsheet = 2", 6, "[files] sheet = 2: expected a sheet's name"),
    ("[files]", "[files]\nsheet = ['a', 2]", 6, "sheet = ['a', 2]: expected a sheet's"),
    ("[files]", "[files]\nsheet = []", 6, "[files] sheet = []: expected a sheet's nam"),
    (
        "[files]",
        "[files]\nvalid_from = '2026-03-01'",
        6,
        "valid_from = '2026-03-01': e",
    ),
    ("[files]", "[files]\nvalid_from = 2026-03-01T08:00:00", 6, "without quotation"),
    ("[files]", "[files]\nsheets = 'a'", 6, "no key 'sheets', expected sheet, by its"),
    ('match = "yard_*.csv"', "", 5, "[files] lacks match: expected a file's name"),
    ("yard_*.csv", "logs/yard_*.csv", 6, "without its folder"),
    ("yard_*.csv", "yard_*.csv ", 6, "a space at the beginning or end"),
    ("yard_*.csv", "yard_[9-0].csv", 6, "a range in [ ] that holds no character"),
    ("yard_*.csv", "yard.toml", 6, "hidden files, .toml and .md are not taken"),
    ("day_first = true", "day_first = 'yes'", 8, "day_first = 'yes': expected true or"),
    ("[dates]", "[dates]\nformat = '%d.%m.%Y'", 9, "day_first = true beside format ="),
    ("day_first = true", "format = '%d.%m'", 8, "format = '%d.%m': lacks a year, exp"),
    ("day_first = true", "format = '%d.%m.%Q%Y'", 8, "%Q is not known, expected some"),
    ("day_first = true", "format = ''", 8, "[dates] format = '': expected a strptime"),
    (
        'day_first = true\n[columns]\nrecord_id = "no"\ninstalled_on',
        'format = "%d.%m.%Y"\n[columns]\nrecord_id = "no"\ninstalled_at',
        8,
        "has no time of day, but installed_at is mapped",
    ),
    ("[columns]", "[columns]\nhole_depth = 'x'", 10, "expected hole_depth_mm, by its"),
    ('crew_code = "crew"\n', "", 9, "[columns] lacks crew_code, which every row needs"),
    ('installed_on = "date"\n', "", 9, "[columns] lacks installed_on or installed_at"),
    ('"crew"', "4", 12, "[columns] crew_code = 4: expected a header, or {from ="),
    ('"crew"', '" "', 12, "[columns] crew_code = ' ': expected a header"),
    ('{from = "depth", unit = "cm"}', '{unit = "cm"}', 14, "expected a header, or {f"),
    # The example suits the column: a yes or no has no unit.
    ('"note"', '["a", "a"]', 19, 'a header, or {from = ["header", "another"]}'),
    ("note =", "bit_worn = ['a', 'b']\nnote =", 19, 'from = "header", fill_down = tr'),
    ('"clean"', '["a", "a"]', 20, 'a header, or {from = ["Brushed", "Blown"]}, whic'),
    ('unit = "cm"', 'unit = "psi"', 14, "hole_depth_mm unit = 'psi': expected mm, cm"),
    ('unit = "cm"', 'unit = ["cm"]', 14, "hole_depth_mm unit = ['cm']: expected mm"),
    ('"strokes"', '{from = "s", unit = "mm"}', 18, "unit = 'mm': expected no unit"),
    ('unit = "cm"', 'units = "cm"', 14, "has no key 'units', expected unit, by its"),
    ('unit = "cm"', "fill_down = 1", 14, "fill_down = 1: expected true or false"),
    ('edge_1_mm.from = "edge"', 'edge_1_mm.from = "depth"', 16, "edge_1_mm takes 'dep"),
    ('"note"', '" crew"', 19, "takes 'crew', and so does crew_code on line 12"),
    ("[columns]", "[columns]\ninstalled_time = 't'\ninstalled_at = 'at'", 10, "besid"),
    ('"no"', '{from = "no", within = ["date", 3]}', 10, "within = ['date', 3]: expec"),
    (
        '"no"',
        '{from = "no", within = [" no "]}',
        10,
        "expected a list of other heade",
    ),
    (
        '"no"',
        '{from = "no", within = ["date", "date"]}',
        10,
        "headers than its own, e",
    ),
    ('"no"', '{from = "no", within = [""]}', 10, "record_id within = ['']: expected a"),
    ('"no"', '{from = "no", unit = "mm"}', 10, "record_id has no key 'unit', expecte"),
    ('"no"', '{from = "depth", within = ["date"]}', 14, "takes 'depth', and so does r"),
    (
        'note = "note"',
        'recheck_at = "no"',
        19,
        "recheck_at takes 'no', and so does rec",
    ),
    ('"crew"', '{always = " "}', 12, "crew_code always = ' ': expected a text"),
    ('"crew"', '{always = "C1", from = "c"}', 12, "always = 'C1' beside from: expecte"),
    ('"drill"', '{always = "hand"}', 15, "always = 'hand': expected one of hammer, h"),
    ('"strokes"', '{always = "2"}', 18, "brush_count has no key 'always', expected o"),
    ('"no"', '{always = "1"}', 10, "record_id has no key 'always', expected one o"),
    ('"no"', '["no", "date"]', 10, "record_id = ['no', 'date']: expected a header"),
    ('"crew"', '["crew", "crew"]', 12, "crew_code = ['crew', 'crew']: expected a he"),
    ('"crew"', '{from = ["a", "b"], fill_down = true}', 12, "fill_down is for one he"),
    ('unit = "cm"', 'within = ["date"]', 14, "hole_depth_mm has no key 'within', exp"),
    (
        'installed_on = "date"',
        'installed_time = "date"',
        11,
        "installed_time without installed_on: expected both",
    ),
    ("cleaned.ja = true", "cleaned = 3", 27, "[codes] cleaned = 3: expected a table"),
    ("cleaned.ja", "cleand.ja", 27, "no key 'cleand', expected cleaned, by its"),
    ('cleaned = "clean"\n', "", 26, "[codes.cleaned] is for a column that is not map"),
    ("HB =", '"hb " = "hammer"\nHB =', 23, "HB = 'hollow_bit': is the same word as 'h"),
    ("HB =", '" " =', 22, "' ' = 'hollow_bit': a blank cell is unrecorded, expected"),
    ('"hollow_bit"', '"hollow"', 22, "[codes.drill_method] HB = 'hollow': expected on"),
    ("ja = true", 'ja = "ja"', 27, "[codes.cleaned] ja = 'ja': expected true or false"),
    ("12.5", "-1", 24, "'12 or so' = -1: expected a number, 0 or more or"),
    ("12.5", "nan", 24, "'12 or so' = nan: expected a number, 0 or more or"),
    (
        '"full set" = 2',
        '"full set" = 2.5',
        25,
        "= 2.5: expected a whole number, 0 or m",
    ),
    ('"full set" = 2', '"full set" = "clear"', 25, "= 'clear': expected a whole numb"),
    ('weg = "gone"', "weg = [1]", 26, "[codes.note] weg = [1]: expected a text"),
    # A code and a name have 100 characters at most.
    ('" yard "', f'"{"y" * 101}"', 2, "has 101 characters, expected at most 100"),
    ('"Invented yard"', f'"{"y" * 5000}"', 3, "has 5,000 characters, expected at mo"),
    ('"crew"', f'{{always = "{"c" * 101}"}}', 12, "has 101 characters, expected at"),
    (
        'weg = "gone"',
        f'weg = "gone"\ncrew_code.x = "{"c" * 101}"',
        27,
        "expected a text of at most 100 characters",
    ),
]


@pytest.mark.parametrize(("old", "new", "line", "words"), FAULTS)
def test_a_fault_is_named_with_its_line(
    tmp_path: Path, old: str, new: str, line: int, words: str
) -> None:
    assert old in GOOD
    with pytest.raises(FirmsetError) as error:
        read(tmp_path, GOOD.replace(old, new, 1))
    message = str(error.value)
    place = f"{tmp_path / 'yard.toml'}: "
    assert message.startswith(place)
    [fault] = [one for one in message.removeprefix(place).split("\n") if words in one]
    assert fault.startswith(f"line {line}: ")


def test_all_faults_are_named_at_once_in_the_order_of_their_lines(
    tmp_path: Path,
) -> None:
    text = GOOD.replace('"Europe/Lisbon"', '"Lisbon"').replace('"cm"', '"psi"')
    with pytest.raises(FirmsetError, match=r"faults:\nline 4: .*\nline 14: .*psi"):
        read(tmp_path, text.replace("HB =", "HB = 'core'\nhb ="))


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"[site]\ncode = \n", "not a TOML file in UTF-8: Invalid value (at line 2"),
        (b"\xff\xfe", "not a TOML file in UTF-8"),
        (b"a = " + b"[" * 100_000, "not a TOML file in UTF-8"),
        (b"a = " + b"9" * 10_000, "not a TOML file in UTF-8"),
        (b"# long\n" * 200_000, "over 1 MB"),
        (b"site.code = 0x" + b"f" * 10_000, "line 1: [site] code = a number without"),
    ],
)
def test_a_file_that_is_no_map_is_refused(
    tmp_path: Path, content: bytes, words: str
) -> None:
    path = tmp_path / "yard.toml"
    path.write_bytes(content)
    with pytest.raises(FirmsetError) as error:
        read_site_map(path)
    assert words in str(error.value)


def test_a_folder_named_like_a_map_is_refused(tmp_path: Path) -> None:
    (tmp_path / "yard.toml").mkdir()
    with pytest.raises(FirmsetError, match="cannot be read"):
        read_site_map(tmp_path / "yard.toml")
