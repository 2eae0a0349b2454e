"""The work of a load in vectorised pandas: a peer for the benchmark, not a twin.

Everything as text, then one spelling a code, values with faults, rejected rows, the
latest revision of a record, all fourteen checks with their verdicts, the cone ratio,
the tally by day and month, the counts of every batch, a receipt with the file's
checksum, all written as Parquet and copied to an edition on disk. It leaves out what a
load needs transactions for (other files' claims on a record, taking a file back) and
what it keeps to be asked later (raw texts of faults, questions about units), and the
finer rules of some checks (length marks, extraction, edge and spacing together). It
looks up no calibrations: the log of the benchmark has none. What it is measured to be
slower by, it is slower by at least.
"""

import hashlib
import json
import os
import shutil
from pathlib import Path

import numpy as np
import pandas as pd

from queries.columns import LOGGED_COLUMNS
from tests.benchmarks.pandas_batches import count_batches, count_times

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
MONTH_KEYS = ["installed_on", "crew_code", "anchor_size"]
YES_NO = {"true": True, "yes": True, "1": True, "false": False, "no": False, "0": False}


def pandas_load(folder: Path, target: Path) -> None:
    """Load folder/log.csv by folder/setting_data.csv; write Parquet into `target`."""
    cells = pd.read_csv(folder / "log.csv", dtype=str, keep_default_na=False)
    read = len(cells)
    rows, faults = _values(cells)
    rows["field_fault_mask"] = faults
    is_rejected = rows[IDENTITY].isna().any(axis=1)
    cells[is_rejected].to_parquet(target / "rejected.parquet")
    del cells
    rows = _latest(rows[~is_rejected].drop_duplicates())
    settings = pd.read_csv(folder / "setting_data.csv")
    wide = rows.merge(settings, on="setting_code", suffixes=("", "_required"))
    counts = _judge(rows, wide)
    rows["cone_ratio"] = _cone_ratio(wide).to_numpy()
    tally = _counted(pd.concat([wide[TALLY_KEYS], counts], axis=1), TALLY_KEYS)
    month_on = tally["installed_on"].to_numpy("datetime64[M]")
    month = tally.assign(installed_on=month_on.astype("datetime64[ns]"))
    kept = {
        "installation": rows,
        "tally": tally,
        "tally_month": _counted(
            month.drop(columns=[*set(TALLY_KEYS) - set(MONTH_KEYS)]), MONTH_KEYS
        ),
        "batch_tally": count_batches(rows, settings),
        "batch_time_tally": count_times(rows),
    }
    if tally["installations"].sum() != len(rows):
        raise SystemExit("the peer's tally does not add up")
    for name, table in kept.items():
        table.to_parquet(target / f"{name}.parquet")
    _write_receipt(folder / "log.csv", target, read, len(rows), int(is_rejected.sum()))
    _publish(target)


def _latest(rows: pd.DataFrame) -> pd.DataFrame:
    """Return each record by its highest revision, in the order of the file."""
    by_revision = rows.sort_values("revision", kind="stable")
    return by_revision.drop_duplicates("record_id", keep="last").sort_index()


def _counted(counts: pd.DataFrame, keys: list[str]) -> pd.DataFrame:
    grouped = counts.groupby(keys, dropna=False, observed=True, sort=False)
    return grouped.sum().reset_index()


def _write_receipt(log: Path, target: Path, read: int, kept: int, bad: int) -> None:
    with log.open("rb") as file:
        checksum = hashlib.file_digest(file, "sha256").hexdigest()
    receipt = {"sha256": checksum, "read": read, "loaded": kept, "rejected": bad}
    (target / "receipt.json").write_text(json.dumps(receipt), "utf-8")


def _publish(target: Path) -> None:
    """Copy what was written to an edition that is on disk when this returns."""
    edition = target / "edition"
    edition.mkdir()
    for path in target.glob("*.parquet"):
        copied = edition / path.name
        shutil.copyfile(path, copied)
        with copied.open("rb+") as file:
            os.fsync(file.fileno())


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
                value = _one_spelling(text.str.upper().where(text != ""))
            case _:
                value = text.where(text != "")
        values[column.name] = value
        is_fault = value.isna() & (text != "")
        faults |= is_fault.astype("uint64") << np.uint64(position)
    return pd.DataFrame(values), faults


def _one_spelling(codes: pd.Series) -> pd.Series:
    """Return codes that differ in signs or leading zeros by the longest of them."""
    found = pd.Series(codes.dropna().unique())
    if found.empty or len(found) > len(codes) / 2:  # records' own numbers
        return codes
    key = found.str.replace(r"[\s\-_/.]", "", regex=True)
    key = key.str.replace(r"(?<!\d)0+(?=\d)", "", regex=True)
    ordered = pd.DataFrame({"code": found, "key": key, "size": -found.str.len()})
    ordered = ordered.sort_values(["size", "code"]).drop_duplicates("key")
    stored = key.map(ordered.set_index("key")["code"])
    return codes.map(dict(zip(found, stored, strict=True)))


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
    good_mask, bad_mask, blank_mask = masks.values()
    anchors = {
        "judged": (good_mask | bad_mask) != 0,
        "nonconforming": bad_mask != 0,
        "unrecorded": (blank_mask != 0) & ((good_mask | bad_mask) == 0),
        "undecided": (blank_mask != 0) & (bad_mask == 0),
    }
    for name, found in anchors.items():
        counts[f"any_check_{name}"] = pd.Series(found, index=wide.index)
    return pd.DataFrame(counts)


def _column(wide: pd.DataFrame, name: str) -> pd.Series:
    return wide.get(name, pd.Series(np.nan, index=wide.index))


def _margins(wide: pd.DataFrame) -> dict[str, pd.Series]:
    """Return the margins of all checks: below zero is nonconforming.

    A check without a margin has 1 where it conforms and -1 where it does not.
    """

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
    bit = logged("bit_diameter_mm")
    cutting = np.minimum(bit - wide["bit_min_mm"], wide["bit_max_mm"] - bit)
    is_worn = logged("bit_worn").astype("boolean").fillna(False).astype(bool)
    same_type = wide["anchor_type_code"] == wide["anchor_type_code_required"]
    type_margin = pd.Series(np.where(same_type, 1.0, -1.0), index=wide.index)
    material = wide["base_material"]
    is_named = pd.Series(False, index=wide.index)
    for listed in wide["base_materials"].dropna().unique():
        asks = wide["base_materials"] == listed
        is_named |= asks & material.isin(listed.split(";"))
    strength = (logged("concrete_mpa") - wide["min_concrete_mpa"]).fillna(1.0)
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
        "anchor_type": type_margin.where(wide["anchor_type_code"].notna()),
        "base_material": strength.where(is_named, -1.0).where(material.notna()),
        "drill_bit": cutting.where(~is_worn, -1.0),
        "torque_tool": pd.Series(np.nan, index=wide.index),
    }


def _cone_ratio(wide: pd.DataFrame) -> pd.Series:
    """Return the indicative ratio of queries/macros.sql."""
    clamped = wide["fixture_thickness_mm"] + wide["packing_mm"]
    required = wide["embedment_mm_required"]
    tip = wide["nominal_embedment_mm"] - required
    derived = wide["anchor_length_mm"] - clamped - wide["projection_mm"] - tip
    effective = wide["embedment_mm"].fillna(derived)
    embedment = (effective.clip(lower=0) / required) ** 1.5
    edge = np.fmin(wide["edge_1_mm"], wide["edge_2_mm"])
    near = (0.7 + 0.3 * edge / (1.5 * required)).clip(upper=1)
    ratio = embedment.clip(upper=1).fillna(1) * near.fillna(1)
    return ratio.where(embedment.notna() | near.notna())
