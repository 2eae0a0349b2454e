"""Written logs say what the generator meant, and are found by their site maps."""

import tomllib
from pathlib import Path

import polars as pl
import pytest

from demo_data.generator import Demo, generate
from demo_data.logs import write_logs
from demo_data.sites import SITES, Site


@pytest.fixture(scope="module")
def small() -> Demo:
    """Return a demo with every clerical fault, small enough to read back quickly."""
    return generate(6_000, seed=11)


@pytest.fixture(scope="module")
def folder(small: Demo, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder that the small demo was written to."""
    path = tmp_path_factory.mktemp("logs")
    write_logs(small, path)
    return path


def _read(folder: Path, site: Site) -> pl.DataFrame:
    return pl.read_csv(folder / f"{site.code.lower()}.csv", infer_schema=False)


def test_truth_is_out_of_the_way_of_a_load(folder: Path) -> None:
    logs = {f"{site.code.lower()}.csv" for site in SITES}
    maps = {f"{site.code.lower()}.toml" for site in SITES}
    names = {path.name for path in folder.iterdir()}
    sheets = {
        "setting_data.csv",
        "crews.csv",
        "trainings.csv",
        "wrench_calibrations.csv",
        "planned_holes.csv",
        "inspectors.csv",
    }
    assert names == logs | maps | sheets | {"truth"}
    assert {path.name for path in (folder / "truth").iterdir()} == {
        "truth.csv",
        "expected_receipts.csv",
    }


@pytest.mark.parametrize("site", SITES, ids=lambda site: site.code)
def test_log_and_map_fit(folder: Path, small: Demo, site: Site) -> None:
    log = _read(folder, site)
    site_map = tomllib.loads((folder / f"{site.code.lower()}.toml").read_text("utf-8"))
    assert site_map["site"] == {
        "code": site.code,
        "name": site.name,
        "time_zone": site.time_zone,
    }
    assert site_map["files"]["match"] == f"{site.code.lower()}.csv"
    assert list(site_map["columns"].values()) == log.columns
    rows = small.log_rows.filter(pl.col("site_code") == site.code)
    assert log["record_id"].to_list() == rows["record_id"].to_list()
    times = "installed_on" if site.splits_date_and_time else "installed_at"
    written = log[times].str.head(10)
    expected = rows["installed_on"].cast(pl.String)
    is_raw = rows["raw_column"].eq_missing("installed_on")
    assert written.filter(~is_raw).equals(expected.filter(~is_raw), null_equal=True)
    assert set(written.filter(is_raw)) <= {"2026-02-30"}


@pytest.mark.parametrize("site", SITES, ids=lambda site: site.code)
def test_numbers_survive(folder: Path, small: Demo, site: Site) -> None:
    """All cells but the words; a distance logged as clear is infinite."""
    log = _read(folder, site)
    rows = small.log_rows.filter(pl.col("site_code") == site.code)
    for name in ("hole_depth_mm", "edge_1_mm", "setting_torque_nm", "drill_s"):
        is_raw = rows["raw_column"].eq_missing(name)
        cells = log[name].filter(~is_raw).replace("clear", "inf").cast(pl.Float64)
        assert cells.equals(rows[name].filter(~is_raw), null_equal=True)
        assert log[name].filter(is_raw).equals(rows["raw_value"].filter(is_raw))


def test_repeated_rows_are_repeated_to_the_letter(folder: Path, small: Demo) -> None:
    counts = dict(small.receipts.select("site_code", "duplicate").rows())
    for site in SITES:
        log = _read(folder, site)
        assert log.height - log.unique().height == counts[site.code]
