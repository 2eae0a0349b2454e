"""The table [listed] of a site map: what it may say, and which file it fits."""

from pathlib import Path

import pytest

from etl.choose_map import choose_site_map
from etl.site_map import read_site_map
from etl.staging import limits
from queries.errors import FirmsetError
from tests.builders import build_store
from tests.etl.listed_logs import MAP, OF_1, ROWS, taken, write_answers, write_checks


def test_a_file_without_the_columns_is_refused(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    site_map = MAP.replace('value = "Result"', 'value = "Reading"')
    [failure] = taken(store, write_checks(tmp_path, site_map=site_map)).failures
    assert str(failure).endswith(
        "row 1: the site map checks.toml takes 'Reading' under [listed], but the file "
        "has the columns Anchor, Day, Crew, Item, Result, Unit"
    )
    rows = [row for row in ROWS if row[3] != "Spec"]
    [failure] = taken(store, write_checks(tmp_path, rows)).failures
    assert "takes setting_code from 'Spec', but the file has" in str(failure)


def test_more_names_than_columns_are_refused(tmp_path: Path) -> None:
    rows = [[*OF_1, f"x{number}", "1", ""] for number in range(limits.MAX_COLUMNS)]
    [failure] = taken(build_store(tmp_path), write_checks(tmp_path, rows)).failures
    assert "more than 994 different texts stand under 'Item'" in str(failure)


# Of two formats of one name that is taken whose columns, or names in rows, are there.
def test_the_map_is_known_by_what_rows_name(tmp_path: Path) -> None:
    path = write_checks(tmp_path)
    renamed = MAP.replace('"Spec"', '"Type"').replace(
        'match = "checks*"', 'match = "checks*"\nvalid_from = 2026-06-01'
    )
    (tmp_path / "later.toml").write_text(renamed, "utf-8")
    maps = [read_site_map(tmp_path / name) for name in ("checks.toml", "later.toml")]
    assert choose_site_map(path, maps).path.name == "checks.toml"
    write_checks(tmp_path, [[*row[:3], "Type", *row[4:]] for row in ROWS[:1]])
    assert choose_site_map(path, maps).path.name == "later.toml"


def test_a_map_of_listed_values_is_known_in_json(tmp_path: Path) -> None:
    path = write_answers(tmp_path)
    renamed = path.with_suffix(".toml").read_text("utf-8").replace('"Depth"', '"Deep"')
    later = renamed.replace('"Torque"', '"Moment"').replace('"Spec"', '"Type"')
    later = later.replace("[listed]", "valid_from = 2026-06-01\n[listed]")
    (tmp_path / "later.toml").write_text(later, "utf-8")
    maps = [read_site_map(tmp_path / name) for name in ("answers.toml", "later.toml")]
    assert choose_site_map(path, maps).path.name == "answers.toml"


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            'anchor = "Anchor"\n',
            "",
            '[listed] lacks anchor: expected a header such as "Anchor", or a list',
        ),
        ('anchor = "Anchor"', "anchor = [1]", "[listed] anchor = [1]: expected a head"),
        ('name = "Item"\n', "", "[listed] lacks name: expected a header such as"),
        ('unit = "Unit"', "unit = 3", "[listed] unit = 3: expected a header such as"),
        ('"Unit"', '"Item"', "expected each header once"),
        ('"Depth"', '"Result"', "[columns] hole_depth_mm takes 'Result', under which"),
        ('unit = "Unit"', 'units = "Unit"', "[listed] has no key 'units', expected"),
        ('"Unit"', '"Unit"\nfill_down = 1', "fill_down = 1: expected true or false"),
    ],
)
def test_a_fault_of_the_map_is_named(
    tmp_path: Path, old: str, new: str, said: str
) -> None:
    assert old in MAP
    path = tmp_path / "map.toml"
    path.write_text(MAP.replace(old, new, 1), "utf-8")
    with pytest.raises(FirmsetError) as error:
        read_site_map(path)
    assert said in str(error.value).replace('"Result"', "'Result'").replace(
        '"units"', "'units'"
    )
