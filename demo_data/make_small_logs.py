"""Make the five committed small logs: python -m demo_data.make_small_logs [FOLDER].

Needs xlsxwriter, of the development dependencies. The same seed makes the same files.
"""

import sys
from pathlib import Path

import polars as pl

from demo_data.clerical import add_clerical_faults, expected_receipts
from demo_data.model import simulate
from demo_data.setting import read_setting_data
from demo_data.site_map import site_map_toml
from demo_data.small_files import write_file
from demo_data.small_log import SmallLog
from demo_data.small_sites import SMALL_LOGS
from demo_data.streams import Streams

SMALL_LOGS_FOLDER = Path(__file__).parent / "small_logs"
# In a folder of its own: a load takes every other CSV beside a site map for a log.
EXPECTED_RECEIPTS = Path("truth") / "expected_receipts.csv"
INSTALLATIONS = 300
SEED = 20_261_001
# Columns that every layout has: a value there is made unreadable.
UNREADABLE_COLUMNS = ("hole_depth_mm", "setting_torque_nm", "drill_s")


def small_log_rows(log: SmallLog) -> pl.DataFrame:
    """Return the rows of a small log in file order, as in clerical.Logged.

    Nothing is planted but the background and the log's clerical faults.
    """
    rows = simulate((log.site,), read_setting_data(), (), INSTALLATIONS, _seed(log))
    if any(column.fill_down for column in log.layout.columns):
        # Whoever merges cells keeps the rows of a day and an area together.
        rows = rows.sort("installed_on", "work_area", "record_id")
    return add_clerical_faults(
        rows,
        log.faults,
        Streams(_seed(log)).named("clerical faults"),
        unreadable_columns=UNREADABLE_COLUMNS,
        is_in_place=True,
    ).log_rows


def _seed(log: SmallLog) -> int:
    return int(Streams(SEED).named(log.site.code).integers(2**31))


def make_small_logs(folder: Path) -> None:
    """Write the five logs, their site maps and EXPECTED_RECEIPTS into a folder."""
    (folder / EXPECTED_RECEIPTS).parent.mkdir(parents=True, exist_ok=True)
    receipts = []
    for log in SMALL_LOGS:
        log_rows = small_log_rows(log)
        write_file(log, log_rows, folder)
        (folder / f"{log.site.code.lower()}.toml").write_text(_site_map(log), "utf-8")
        receipt = expected_receipts(log_rows)
        receipts.append(
            receipt.insert_column(0, pl.lit(log.file_name).alias("file_name"))
        )
    pl.concat(receipts).write_csv(folder / EXPECTED_RECEIPTS)


def _site_map(log: SmallLog) -> str:
    layout = log.layout
    return site_map_toml(
        log.site,
        match=log.file_name,
        columns={column.name: column.as_toml for column in layout.columns},
        files=layout.files,
        date_format=layout.date_format,
        codes=layout.codes,
    )


if __name__ == "__main__":
    make_small_logs(Path(sys.argv[1]) if len(sys.argv) > 1 else SMALL_LOGS_FOLDER)
