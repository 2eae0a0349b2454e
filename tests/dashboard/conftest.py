"""One small store for all tests of the dashboard, loaded through the real line."""

from collections.abc import Iterator
from pathlib import Path

import duckdb
import pytest

from queries.readers.choices import Choices, read_choices
from queries.store import Store
from tests.builders import Row, build_store

SETTINGS: list[Row] = [
    {},
    # A smaller size whose name sorts after M12 as text.
    {
        "setting_code": "M6-40",
        "anchor_size": "M6",
        "drill_diameter_mm": 6,
        "hole_depth_mm": 55,
        "embedment_mm": 40,
        "nominal_embedment_mm": 46,
    },
]

# Hand-counted, check setting_torque (band 49.5 to 60.5 Nm):
#   NORTH  10 judged, 4 nonconforming (20 Nm), 2 blank, 1 unreadable
#   SOUTH  40 judged, 0 nonconforming
#   EAST   nothing judged: 3 blank
NORTH: list[Row] = [
    *({"setting_torque_nm": "20", "crew_code": "C1"} for _ in range(4)),
    *({"setting_torque_nm": "55", "crew_code": "C2"} for _ in range(6)),
    *({"setting_torque_nm": "", "crew_code": "C2"} for _ in range(2)),
    {"setting_torque_nm": "firm", "crew_code": "C2"},
    # Two weeks later, the week between is idle; a spreadsheet would run this id.
    {"record_id": "=1+1", "installed_on": "2026-05-18", "outcome": "abandoned"},
    # No crew: rejected.
    {"record_id": "LOST", "crew_code": ""},
]
SOUTH: list[Row] = [
    *({"drill_s": "10", "crew_code": "C3"} for _ in range(30)),
    *(
        {
            "drill_s": "4",
            "crew_code": "C3",
            "setting_code": "M6-40",
            "hole_depth_mm": "57",
        }
        for _ in range(10)
    ),
    *(
        {
            "drill_s": "6",
            "crew_code": "C3",
            "hole_depth_mm": "45",
            "outcome": "abandoned",
        }
        for _ in range(2)
    ),
]
EAST: list[Row] = [{"setting_torque_nm": "", "crew_code": "C4"} for _ in range(3)]


@pytest.fixture(scope="session")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """The store with three sites."""
    folder: Path = tmp_path_factory.mktemp("dashboard")
    return build_store(
        folder,
        settings=SETTINGS,
        sites={"NORTH": NORTH, "SOUTH": SOUTH, "EAST": EAST},
    )


@pytest.fixture
def con(store: Store) -> Iterator[duckdb.DuckDBPyConnection]:
    """A cursor on its edition."""
    with store.reader() as cursor:
        yield cursor


@pytest.fixture
def choices(store: Store) -> Choices:
    """What its filters offer."""
    with store.reader() as cursor:
        return read_choices(cursor)
