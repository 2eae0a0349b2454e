"""The same file under a mended site map: read anew as a whole, or not at all."""

from pathlib import Path

import pytest

from etl.unload import unload
from queries.proof import all_proofs, read_faults
from queries.store import Store
from tests.builders import NOW, build_store, load

MAP = """
[site]
code = "YARD"
name = "Invented yard"
time_zone = "Europe/Lisbon"
[files]
match = "yard.csv"
[columns]
record_id = "No"
installed_on = "Day"
crew_code = "Crew"
setting_code = "Code"
hole_depth_mm = {{from = "Depth", unit = "{unit}"}}
{more}
"""
LOG = (
    "No,Day,Crew,Code,Depth,Torque\n"
    "R1,2026-05-04,C1,M12-68,2.2,55\n"
    "R2,2026-05-04,C1,M12-68,3.9,54\n"
    "R3,2026-05-04,C1,M12-68,9.1,55\n"
)


def write(folder: Path, unit: str, more: str = "") -> Path:
    folder.mkdir(exist_ok=True)
    (folder / "yard.toml").write_text(MAP.format(unit=unit, more=more), "utf-8")
    (folder / "yard.csv").write_text(LOG, "utf-8")
    return folder / "yard.csv"


def depths(store: Store) -> list[float]:
    with store.reader() as con:
        assert read_faults(con, all_proofs()).is_empty()
        rows = con.execute("select hole_depth_mm from installation order by record_id")
        return [depth for (depth,) in rows.fetchall()]


@pytest.mark.parametrize(
    ("unit", "factor"), [("in", 25.4), ("cm", 10.0), ("ft", 304.8)]
)
def test_another_unit_leaves_no_mixture(
    tmp_path: Path, unit: str, factor: float
) -> None:
    """Factors by definition (NIST SP 811)."""
    store = build_store(tmp_path / "store")
    first = load(store, write(tmp_path / "logs", "mm")).receipts[0].source_file_id
    again = load(store, write(tmp_path / "logs", unit))
    [failure] = again.failures
    assert f"is held as receipt {first}, read by another site map with other" in failure
    assert failure.endswith(f"firmset unload {first}")
    assert depths(store) == [2.2, 3.9, 9.1]
    unload(store, first, now=NOW)
    assert not load(store, write(tmp_path / "logs", unit)).failures
    assert depths(store) == pytest.approx([factor * mm for mm in (2.2, 3.9, 9.1)])


def test_a_column_more_is_taken_at_once(tmp_path: Path) -> None:
    """Every row says more than before, so that none of the old ones stays."""
    store = build_store(tmp_path / "store")
    load(store, write(tmp_path / "logs", "mm"))
    more = load(store, write(tmp_path / "logs", "mm", 'setting_torque_nm = "Torque"'))
    assert not more.failures and more.receipts[-1].loaded == 3
    with store.reader() as con:
        [(torques,)] = con.execute(
            "select count(setting_torque_nm) from installation"
        ).fetchall()
    assert torques == 3
