"""Build small stores through the production loader.

A test states only the columns that matter to it; the defaults below make the rest
conforming in every check, with figures invented for the tests.
"""

import csv
import shutil
from collections import OrderedDict
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from types import MappingProxyType

from etl.intake import IntakeResult, load_paths
from etl.ledger import open_ledger
from queries.store import Store

Row = Mapping[str, object]

NOW = datetime(2027, 7, 1, 12, tzinfo=UTC)

# One M12 anchor. Derived embedment of a default row below: 110 - 20 - 0 - 11 = 79 in
# the concrete, less 79 - 68 to the tip: 68 mm, just what is required.
SETTING: dict[str, object] = {
    "setting_code": "M12-68",
    "anchor_type_code": "TYPE-A",
    "material": "zinc plated",
    "anchor_size": "M12",
    "drill_diameter_mm": 12,
    "bit_min_mm": "",
    "bit_max_mm": "",
    "embedment_mm": 68,
    "nominal_embedment_mm": 79,
    "hole_depth_mm": 90,
    "anchor_length_mm": 110,
    "length_mark": "",
    "max_fixture_mm": 20,
    "setting_torque_nm": 55,
    "torque_low_nm": "",
    "torque_high_nm": "",
    "min_edge_mm": 65,
    "at_spacing_mm": 100,
    "min_spacing_mm": 60,
    "at_edge_mm": 85,
    "edge_spacing_interpolates": "true",
    "min_member_mm": 140,
    "min_concrete_mpa": "",
    "max_tilt_deg": 5,
    "brushes_required": 2,
    "blows_required": 2,
    "extraction_replaces_cleaning": "false",
    "base_materials": "",
    "document": "invented for the tests",
}

INSTALLATION: dict[str, object] = {
    "installed_on": "2026-05-04",
    "crew_code": "CREW-1",
    "setting_code": "M12-68",
    "inspector_code": "INS-1",
    "orientation": "floor",
    "outcome": "set",
    "drill_method": "hammer",
    "anchor_length_mm": "110",
    "hole_depth_mm": "92",
    "brush_count": "2",
    "blow_count": "2",
    "fixture_thickness_mm": "20",
    "packing_mm": "0",
    "projection_mm": "11",
    "edge_1_mm": "120",
    "spacing_mm": "200",
    "setting_torque_nm": "55",
}

SITE_MAP = """
[site]
code = "{site}"
name = "Invented site {site}"
time_zone = "Europe/Lisbon"

[files]
match = "{match}"

[columns]
{columns}
"""


def write_csv(path: Path, rows: Iterable[Row]) -> Path:
    """Write rows as a comma CSV with the union of their columns."""
    rows = list(rows)
    names = list(dict.fromkeys(name for row in rows for name in row))
    with path.open("w", encoding="utf-8", newline="") as lines:
        writer = csv.DictWriter(lines, names, restval="")
        writer.writeheader()
        writer.writerows(rows)
    return path


def write_setting_data(folder: Path, rows: Iterable[Row] = ({},)) -> Path:
    """Write setting data, each row the default M12 with what it states changed."""
    return write_csv(folder / "setting_data.csv", [SETTING | dict(row) for row in rows])


def write_log(
    folder: Path,
    rows: Sequence[Row],
    *,
    site: str = "SITE-1",
    name: str = "log",
    units: Mapping[str, str] = MappingProxyType({}),
) -> Path:
    """Write a site log and its map; each row is the default with its changes.

    `units`: columns that the site logs in another unit than ours.
    """
    folder.mkdir(parents=True, exist_ok=True)
    complete = [
        INSTALLATION | {"record_id": f"R{number}"} | dict(row)
        for number, row in enumerate(rows, start=1)
    ]
    path = write_csv(folder / f"{site}_{name}.csv", complete)
    names = dict.fromkeys(column for row in complete for column in row)
    columns = "\n".join(
        f'{column} = {{from = "{column}", unit = "{units[column]}"}}'
        if column in units
        else f'{column} = "{column}"'
        for column in names
    )
    (folder / f"{site}_{name}.toml").write_text(
        SITE_MAP.format(site=site, match=path.name, columns=columns), "utf-8"
    )
    return path


def build_store(
    folder: Path,
    rows: Sequence[Row] = (),
    *,
    settings: Iterable[Row] = ({},),
    sites: Mapping[str, Sequence[Row]] | None = None,
    calibrations: Sequence[Row] = (),
    now: datetime = NOW,
) -> Store:
    """Return a store with the rows of one site, or of several, loaded and published.

    With the calibrations of wrenches, where there are any, in the same load.
    """
    logs = folder / "logs"
    logs.mkdir(parents=True, exist_ok=True)
    write_setting_data(logs, settings)
    if calibrations:
        write_csv(logs / "wrench_calibrations.csv", calibrations)
    for site, site_rows in (sites or {"SITE-1": rows}).items():
        if not site_rows:
            continue
        write_log(logs, site_rows, site=site)
    store = Store(folder / "store")
    _load_all(store, logs, now)
    return store


# Copies of the last few stores that were built, by what was loaded and when: the cases
# of one test mostly begin with the same.
_built: OrderedDict[tuple[object, ...], TemporaryDirectory[str]] = OrderedDict()
_BUILT_AT_MOST = 8


def _load_all(store: Store, logs: Path, now: datetime) -> None:
    """Load a folder into a new store, or copy the store that came of the same."""
    if store.folder.exists():
        _load_whole(store, logs, now)
        return
    files = sorted((path.name, path.read_bytes()) for path in logs.iterdir())
    what = (now, *files)
    if what not in _built:
        _load_whole(store, logs, now)
        _built[what] = TemporaryDirectory()
        shutil.copytree(store.folder, _built[what].name, dirs_exist_ok=True)
        if len(_built) > _BUILT_AT_MOST:
            _, oldest = _built.popitem(last=False)
            oldest.cleanup()
        return
    _built.move_to_end(what)
    shutil.copytree(_built[what].name, store.folder)


def _load_whole(store: Store, logs: Path, now: datetime) -> None:
    result = load(store, logs, now=now)
    if result.failures:
        raise AssertionError(result.failures)


def load_calibrations(store: Store, records: Iterable[Row]) -> IntakeResult:
    """Load calibrations of wrenches; a record that is not taken is an error."""
    folder = store.folder.parent / "calibrations"
    folder.mkdir(exist_ok=True)
    result = load(store, write_csv(folder / "wrench_calibrations.csv", records))
    if result.failures or any(receipt.rejected for receipt in result.receipts):
        raise AssertionError(result)
    return result


def load(store: Store, *paths: Path, now: datetime = NOW) -> IntakeResult:
    """Load paths into a store with the tests' fixed clock.

    A new store starts from a copy of an empty ledger, which the production code made:
    planning all views takes longer than the load of a small file.
    """
    if not store.ledger_path.exists():
        store.folder.mkdir(parents=True, exist_ok=True)
        store.ledger_path.write_bytes(_empty_ledger())
    return load_paths(store, paths, now=now)


@cache
def _empty_ledger() -> bytes:
    with TemporaryDirectory() as folder:
        store = Store(Path(folder) / "store")
        with open_ledger(store):
            pass
        return store.ledger_path.read_bytes()
