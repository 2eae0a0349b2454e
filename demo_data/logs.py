"""Write generated logs as a site would: one CSV a site, with its site map beside it."""

from pathlib import Path
from shutil import copyfile

import polars as pl

from demo_data.generator import Demo
from demo_data.masters import write_masters
from demo_data.setting import SETTING_DATA_PATH
from demo_data.site_map import site_map_toml
from demo_data.sites import SITES, Site
from queries.columns import LOGGED_NAMES

TRUTH_FOLDER = "truth"
CLEARABLE = ("edge_1_mm", "edge_2_mm", "spacing_mm")
LOCAL_FORMAT = "%Y-%m-%dT%H:%M"


def write_logs(demo: Demo, folder: Path) -> None:
    """Write the sites' logs, site maps and master data into a folder.

    Files: `<site>.csv` in canonical headers and units with times of the site's
    clock, `<site>.toml`, setting_data.csv and the sheets of masters.py; and, in the
    folder `truth`, truth.csv and expected_receipts.csv, which no log folder of a real
    site has. The folder is made where it does not exist; files of these names are
    replaced.
    """
    truth_folder = folder / TRUTH_FOLDER
    truth_folder.mkdir(parents=True, exist_ok=True)
    demo.truth.write_csv(truth_folder / "truth.csv")
    files = pl.format("{}.csv", pl.col("site_code").str.to_lowercase())
    demo.receipts.select(file_name=files, **_same(demo.receipts)).write_csv(
        truth_folder / "expected_receipts.csv"
    )
    copyfile(SETTING_DATA_PATH, folder / SETTING_DATA_PATH.name)
    write_masters(demo.installations, folder)
    by_site = demo.log_rows.partition_by("site_code", as_dict=True)
    for site in SITES:
        log = site_log(by_site[(site.code,)], site)
        name = site.code.lower()
        log.write_csv(folder / f"{name}.csv")
        columns = {header: f'"{header}"' for header in log.columns}
        (folder / f"{name}.toml").write_text(
            site_map_toml(site, match=f"{name}.csv", columns=columns), "utf-8"
        )


def _same(frame: pl.DataFrame) -> dict[str, pl.Expr]:
    return {name: pl.col(name) for name in frame.columns}


def site_log(log_rows: pl.DataFrame, site: Site) -> pl.DataFrame:
    """Return one site's rows as they stand in its file: columns never used left out.

    A column in which some cell cannot be read, or says "clear", is text.
    """
    timed = log_rows.with_columns(*_times(site))
    names = [
        name
        for name in (*LOGGED_NAMES, "installed_time")
        if name in timed.columns and timed[name].null_count() < timed.height
    ]
    raw_columns = _raw_columns(log_rows, site)
    return timed.with_columns(
        raw_column=_file_column(site),
    ).select(_as_written(name, name in raw_columns) for name in names)


def _times(site: Site) -> list[pl.Expr]:
    """Return local times as the site writes them: in one column or in two."""
    local, recheck = pl.col("installed_local"), pl.col("recheck_local")
    empty = pl.lit(None, pl.String)
    whole = local.dt.strftime(LOCAL_FORMAT)
    times = [recheck.dt.strftime(LOCAL_FORMAT).alias("recheck_at")]
    if site.splits_date_and_time:
        return [
            *times,
            local.dt.strftime("%H:%M").alias("installed_time"),
            empty.alias("installed_at"),
        ]
    return [
        *times,
        whole.alias("installed_at"),
        pl.lit(None, pl.Date).alias("installed_on"),
    ]


def _file_column(site: Site) -> pl.Expr:
    """Return in which column of the file a raw cell stands: dates move with times."""
    if site.splits_date_and_time:
        return pl.col("raw_column")
    return pl.col("raw_column").replace({"installed_on": "installed_at"})


def _raw_columns(log_rows: pl.DataFrame, site: Site) -> set[str]:
    columns = log_rows.select(_file_column(site)).to_series().drop_nulls()
    return set(columns.unique().to_list())


def _as_written(name: str, has_raw_cells: bool) -> pl.Expr:
    value = pl.col(name)
    if name in CLEARABLE:
        value = (
            pl.when(value.is_infinite())
            .then(pl.lit("clear"))
            .otherwise(value.cast(pl.String))
        )
    if has_raw_cells:
        is_raw = pl.col("raw_column").eq_missing(name)
        value = pl.when(is_raw).then("raw_value").otherwise(value.cast(pl.String))
    return value.alias(name)
