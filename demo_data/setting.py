"""The invented setting data, as the generator needs them."""

from pathlib import Path

import polars as pl

SETTING_DATA_PATH = Path(__file__).parent / "setting_data.csv"

# The project default where the setting data publish no band (common practice).
DEFAULT_LOW_FRAC = 0.9
DEFAULT_HIGH_FRAC = 1.1

_NUMBERS_READ_AS_TEXT = {
    "setting_code": pl.String,
    "length_mark": pl.String,
    "anchor_size": pl.String,
}


def read_setting_data() -> pl.DataFrame:
    """Return the committed setting data: one row per setting_code, mm, Nm and MPa.

    Columns are those of the CSV; numbers are Float64, counts Int64, yes/no Boolean,
    base_materials the text of the cell.
    """
    frame = pl.read_csv(SETTING_DATA_PATH, schema_overrides=_NUMBERS_READ_AS_TEXT)
    counts = [name for name in frame.columns if name.endswith("_required")]
    whole = [
        name
        for name, dtype in frame.schema.items()
        if dtype == pl.Int64 and name not in counts
    ]
    return frame.with_columns(pl.col(whole).cast(pl.Float64))


def with_torque_band(setting_data: pl.DataFrame) -> pl.DataFrame:
    """Fill torque_low_nm and torque_high_nm with the project default where blank."""
    return setting_data.with_columns(
        torque_low_nm=pl.col("torque_low_nm").fill_null(
            DEFAULT_LOW_FRAC * pl.col("setting_torque_nm")
        ),
        torque_high_nm=pl.col("torque_high_nm").fill_null(
            DEFAULT_HIGH_FRAC * pl.col("setting_torque_nm")
        ),
    )
