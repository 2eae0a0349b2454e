"""Round figures that come of setting rightly, and those that come of writing."""

import numpy as np
import polars as pl
import pytest

from queries.frames import read_frame
from queries.readers.doubts import DOUBTED_AT, read_doubts
from queries.store import Store
from tests.builders import Row, build_store

DAYS, A_DAY = 12, 40
# Set by 57 Nm or 60 of a published 60, to within 1.5; read in whole newton metres.
BELOW, ON_IT, WRITING = ("A", "B", "C", "D", "E", "F"), "ON-IT", "WRITING"
SD_NM = 1.5


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    rng = np.random.default_rng(60)
    rows: list[Row] = []
    for crew in (*BELOW, ON_IT, WRITING):
        for day in range(DAYS):
            torques = rng.normal(60 if crew == ON_IT else 57, SD_NM, A_DAY)
            if crew == WRITING:
                # Half of what was read is written as a ten.
                is_written = rng.random(A_DAY) < 0.5
                torques = np.where(is_written, 60, torques)
            rows += [
                {
                    "crew_code": crew,
                    "installed_on": f"2026-05-{day + 1:02d}",
                    "setting_torque_nm": round(float(torque)),
                }
                for torque in torques
            ]
    folder = tmp_path_factory.mktemp("round_figures")
    return build_store(folder, rows, settings=[{"setting_torque_nm": 60}])


def test_who_sets_by_the_published_ten_is_not_taken_for_rounding(store: Store) -> None:
    with store.reader() as con:
        signs = read_frame(
            con,
            "select crew_code, sum(found) / sum(row_count) as found, "
            "avg(peer_share) as expected from batch_sign where sign = 'round' "
            "group by crew_code",
        )
        listed = read_doubts(con).batches
    share = {row["crew_code"]: row for row in signs.to_dicts()}
    # Normal about 60, 1.5: P(|z| < 0.5 / 1.5) = 0.261, whatever the others' share.
    assert share[ON_IT]["found"] == pytest.approx(0.261, abs=0.06)
    assert share[ON_IT]["expected"] == pytest.approx(0.261, abs=0.02)
    # About 57, as the others: 1 - Phi(2.5 / 1.5) - (1 - Phi(3.5 / 1.5)) = 0.038.
    assert share[BELOW[0]]["found"] == pytest.approx(0.038, abs=0.03)
    by_crew = set(listed.filter(pl.col("probability") >= DOUBTED_AT)["crew_code"])
    assert WRITING in by_crew
    assert ON_IT not in by_crew
