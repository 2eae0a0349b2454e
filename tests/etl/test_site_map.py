"""A faulty site map names every fault at once."""

from pathlib import Path

import pytest

from etl.site_map import read_site_map
from queries.errors import FirmsetError

GOOD = """
[site]
code = " yard "
name = "Invented yard"
time_zone = "Europe/Lisbon"
[files]
match = "yard_*.csv"
[columns]
record_id = "no"
installed_on = "date"
crew_code = "crew"
setting_code = "set"
hole_depth_mm = {from = "depth", unit = "cm"}
[codes.drill_method]
HB = "hollow_bit"
"""


def write(folder: Path, text: str) -> Path:
    path = folder / "yard.toml"
    path.write_text(text, "utf-8")
    return path


def test_read_site_map(tmp_path: Path) -> None:
    site_map = read_site_map(write(tmp_path, GOOD))
    assert site_map.site_code == "YARD"
    assert site_map.codes == {"drill_method": {"hb": "hollow_bit"}}
    [depth] = [
        found for found in site_map.columns if found.column.name == "hole_depth_mm"
    ]
    assert (depth.header, depth.unit, depth.factor) == ("depth", "cm", 10.0)
    assert site_map.fits(Path("yard_may.csv"))
    assert not site_map.fits(Path("other.csv"))


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        (('"Europe/Lisbon"', '"Lisbon"'), "[site] time_zone = 'Lisbon'"),
        (('unit = "cm"', 'unit = "psi"'), "hole_depth_mm unit = 'psi': expected mm"),
        (('crew_code = "crew"\n', ""), "[columns] lacks crew_code"),
        (('installed_on = "date"\n', ""), "lacks installed_on or installed_at"),
        (("[columns]", "[columns]\ndepth = 'x'"), "[columns] has no key 'depth'"),
        (('"hollow_bit"', '"hollow"'), "[codes.drill_method] hb = 'hollow'"),
        (("[files]", "[files]\nheader_row = 0"), "[files] header_row = 0"),
        (("[files]", "[files]\nencoding = 'ebcdic'"), "[files] encoding = 'ebcdic'"),
        (("[files]", "[files]\ndelimiter = ';;'"), "[files] delimiter = ';;'"),
        (("[site]", "[place]\na = 1\n[site]"), "unknown table [place]"),
        (('match = "yard_*.csv"', ""), "[files] match = None"),
        (("[site]", "[site"), "not a TOML file"),
    ],
)
def test_a_fault_is_named(tmp_path: Path, change: tuple[str, str], fault: str) -> None:
    path = write(tmp_path, GOOD.replace(*change))
    with pytest.raises(FirmsetError) as error:
        read_site_map(path)
    assert fault in str(error.value)
    assert str(path) in str(error.value)


def test_all_faults_are_named_at_once(tmp_path: Path) -> None:
    text = GOOD.replace('"Europe/Lisbon"', '"Lisbon"').replace('"cm"', '"psi"')
    with pytest.raises(FirmsetError, match=r"psi.*time_zone"):
        read_site_map(write(tmp_path, text))
