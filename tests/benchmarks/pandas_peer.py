"""The work of a load in vectorised pandas: a peer for the benchmark, not a twin.

Everything as text, then values with faults, rejected rows, duplicates, ten of the
fourteen checks with five verdicts, the tally, and both written as Parquet. It leaves
out four checks, revisions, joined codes, receipts, proofs and the edition, and needs
no transaction: what it is measured to be slower by, it is slower by at least.
"""

from pathlib import Path

import numpy as np
import pandas as pd

from queries.columns import LOGGED_COLUMNS

IDENTITY = ["record_id", "installed_on", "crew_code", "setting_code"]
TALLY_KEYS = [
    "installed_on",
    "crew_code",
    "anchor_size",
    "setting_code",
    "drill_method",
    "orientation",
    "inspector_code",
]
YES_NO = {"true": True, "yes": True, "1": True, "false": False, "no": False, "0": False}


def pandas_load(folder: Path, target: Path) -> None:
    """Load folder/log.csv by folder/setting_data.csv; write Parquet into `target`."""
    cells = pd.read_csv(folder / "log.csv", dtype=str, keep_default_na=False)
    rows, faults = _values(cells)
    rows["field_fault_mask"] = faults
    is_rejected = rows[IDENTITY].isna().any(axis=1)
    cells[is_rejected].to_parquet(target / "rejected.parquet")
    rows = rows[~is_rejected].drop_duplicates()
    settings = pd.read_csv(folder / "setting_data.csv")
    wide = rows.merge(settings, on="setting_code", suffixes=("", "_required"))
    counts = _judge(rows, wide)
    tally = pd.concat([wide[TALLY_KEYS], counts], axis=1)
    tally.groupby(TALLY_KEYS, dropna=False, observed=True).sum().to_parquet(
        target / "tally.parquet"
    )
    rows.to_parquet(target / "installation.parquet")


def _values(cells: pd.DataFrame) -> tuple[pd.DataFrame, pd.Series]:
    """Return the typed columns, and a bit for each cell that could not be read."""
    values = {}
    faults = pd.Series(0, index=cells.index, dtype="uint64")
    for position, column in enumerate(LOGGED_COLUMNS):
        if column.name not in cells:
            continue
        text = cells[column.name].str.strip()
        match column.kind:
            case "number" | "integer":
                value = pd.to_numeric(text, errors="coerce")
                value = value.where(value >= 0)
            case "yes_no":
                value = text.str.lower().map(YES_NO).astype("boolean")
            case "choice":
                value = text.str.lower().where(text.isin(column.choices))
            case "date" | "instant":
                value = pd.to_datetime(text, errors="coerce", format="ISO8601")
            case "code":
                value = text.str.upper().where(text != "")
            case _:
                value = text.where(text != "")
        values[column.name] = value
        is_fault = value.isna() & (text != "")
        faults |= is_fault.astype("uint64") << np.uint64(position)
    return pd.DataFrame(values), faults


def _judge(rows: pd.DataFrame, wide: pd.DataFrame) -> pd.DataFrame:
    """Add four masks to `rows`; return judged, nonconforming and unrecorded a check."""
    counts: dict[str, pd.Series] = {"installations": pd.Series(1, index=wide.index)}
    masks = {name: np.zeros(len(wide), "uint32") for name in ("good", "bad", "blank")}
    is_judged = (wide["outcome"] != "abandoned").to_numpy()
    for position, (name, margin) in enumerate(_margins(wide).items()):
        rounded = margin.round(6).to_numpy()
        good = (rounded >= 0) & is_judged
        bad = (rounded < 0) & is_judged
        blank = np.isnan(rounded) & is_judged
        for mask, found in zip(masks.values(), (good, bad, blank), strict=True):
            mask |= found.astype("uint32") << np.uint32(position)
        counts[f"{name}_judged"] = pd.Series(good | bad, index=wide.index)
        counts[f"{name}_nonconforming"] = pd.Series(bad, index=wide.index)
        counts[f"{name}_unrecorded"] = pd.Series(blank, index=wide.index)
    for name, mask in masks.items():
        rows[f"{name}_mask"] = mask
    return pd.DataFrame(counts)


def _column(wide: pd.DataFrame, name: str) -> pd.Series:
    return wide.get(name, pd.Series(np.nan, index=wide.index))


def _margins(wide: pd.DataFrame) -> dict[str, pd.Series]:
    """Return the margins of ten checks: below zero is nonconforming."""

    def logged(name: str) -> pd.Series:
        # Columns of both tables: the setting data's have the suffix.
        return _column(wide, name)

    def required(name: str) -> pd.Series:
        return wide.get(f"{name}_required", wide[name])

    clamped = logged("fixture_thickness_mm") + logged("packing_mm").fillna(0)
    tip = wide["nominal_embedment_mm"] - required("embedment_mm")
    derived = logged("anchor_length_mm") - clamped - logged("projection_mm") - tip
    embedment = logged("embedment_mm").fillna(derived)
    edge = np.fmin(logged("edge_1_mm"), logged("edge_2_mm"))
    span = wide["at_spacing_mm"] - wide["min_spacing_mm"]
    lean = (wide["at_edge_mm"] - wide["min_edge_mm"]) / span
    asked = wide["min_edge_mm"] + lean * (
        wide["at_spacing_mm"] - logged("spacing_mm")
    ).clip(lower=0)
    torque = logged("setting_torque_nm")
    published = required("setting_torque_nm")
    low = wide["torque_low_nm"].fillna(0.9 * published)
    high = wide["torque_high_nm"].fillna(1.1 * published)
    strokes = np.fmin(
        logged("brush_count") - wide["brushes_required"],
        logged("blow_count") - wide["blows_required"],
    )
    return {
        "anchor_length": 1
        - (logged("anchor_length_mm") - required("anchor_length_mm")).abs(),
        "hole_depth": logged("hole_depth_mm") - required("hole_depth_mm"),
        "embedment": embedment - required("embedment_mm"),
        "hole_cleaning": strokes,
        "edge_distance": edge - asked,
        "setting_torque": np.minimum(torque - low, high - torque),
        "fixture_thickness": wide["max_fixture_mm"] - clamped,
        "spacing": logged("spacing_mm") - wide["min_spacing_mm"],
        "member_thickness": logged("member_thickness_mm") - wide["min_member_mm"],
        "tilt": wide["max_tilt_deg"] - logged("tilt_deg"),
    }
