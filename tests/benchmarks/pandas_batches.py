"""The counts of every batch in vectorised pandas, for the peer of the benchmark.

As queries/views/batch_count.sql and batch_time_count.sql say.
"""

import pandas as pd

BATCH = ["crew_code", "installed_on"]
GAUGE = [*BATCH, "setting_code", "wrench_code"]
MEASURED = [
    "hole_depth_mm",
    "embedment_mm",
    "projection_mm",
    "fixture_thickness_mm",
    "edge_1_mm",
    "edge_2_mm",
    "spacing_mm",
    "setting_torque_nm",
    "drill_s",
]
# In hundredths of a newton metre.
STEPS = (10000, 5000, 2000, 1000, 500, 200, 100, 50, 20, 10, 5, 2, 1)


def count_batches(rows: pd.DataFrame, settings: pd.DataFrame) -> pd.DataFrame:
    """Return counts of torques and repeats per batch, setting data and wrench."""
    logged = rows[rows["outcome"].fillna("set") != "abandoned"]
    torque = logged["setting_torque_nm"]
    place = _place_in_band(logged, settings)
    is_inside = place.between(-1e-9, 1 + 1e-9)
    hundredths = (torque * 100).round()
    is_whole = (torque * 100 - hundredths).abs() < 1e-4
    before = logged.groupby([*BATCH, "setting_code"], sort=False)[MEASURED].shift()
    measured = logged[MEASURED]
    is_known = (measured.notna().sum(axis=1) >= 3) & (before.notna().sum(axis=1) >= 3)
    same = (measured == before) | (measured.isna() & before.isna())
    counts = logged[GAUGE].assign(
        torques=torque.notna(),
        outside=place.notna() & ~is_inside,
        at_edge=is_inside & ~place.between(0.05, 0.95, inclusive="neither"),
        may_repeat_torque=torque.notna() & before["setting_torque_nm"].notna(),
        repeat_torque=torque == before["setting_torque_nm"],
        may_repeat_record=is_known,
        repeat_record=is_known & same.all(axis=1),
        inside=is_inside,
        **{f"on_step_{step}": is_whole & (hundredths % step == 0) for step in STEPS},
    )
    grouped = counts.groupby(GAUGE, dropna=False, observed=True, sort=False)
    inside = place.where(is_inside).groupby(
        [logged[name] for name in GAUGE], dropna=False, observed=True, sort=False
    )
    measures = inside.agg(["mean", "var"]).add_prefix("place_")
    return grouped.sum().join(measures).reset_index()


def _place_in_band(logged: pd.DataFrame, settings: pd.DataFrame) -> pd.Series:
    """Return where a torque lies in its band, from 0 to 1."""
    band = settings.set_index("setting_code")
    low = band["torque_low_nm"].fillna(0.9 * band["setting_torque_nm"])
    width = band["torque_high_nm"].fillna(1.1 * band["setting_torque_nm"]) - low
    code = logged["setting_code"]
    return (logged["setting_torque_nm"] - code.map(low)) / code.map(width)


def count_times(rows: pd.DataFrame) -> pd.DataFrame:
    """Return counts of impossible and late stamps per batch."""
    is_stamped = rows["installed_at"].notna()
    logged = rows[is_stamped & (rows["outcome"].fillna("set") != "abandoned")]
    order = [*BATCH, "installed_at", "drill_s"]
    stamped = logged[order].sort_values(order)
    batches = stamped.groupby(BATCH, sort=False)["installed_at"]
    gap_s = batches.diff().dt.total_seconds()
    to_last_s = (batches.transform("max") - stamped["installed_at"]).dt.total_seconds()
    is_last = ~stamped.duplicated(BATCH, keep="last")
    counts = stamped[BATCH].assign(
        stamped=True,
        may_pace=gap_s.notna() & stamped["drill_s"].notna(),
        impossible_pace=gap_s < stamped["drill_s"],
        may_stamp=~is_last,
        stamped_late=~is_last & (to_last_s <= 600),
    )
    return counts.groupby(BATCH, sort=False).sum().reset_index()
