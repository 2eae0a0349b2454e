"""The counts behind each sign, beside a plain-Python twin of random rows."""

from collections import defaultdict
from datetime import datetime, timedelta
from itertools import pairwise
from math import floor, log2

import numpy as np
import pytest

from queries.frames import read_frame
from queries.readers.doubts import read_batch
from queries.store import Store
from tests.builders import Row, build_store
from tests.queries.round_twin import Inside, honest_round_share

# The band of M12-68 is 49.5 to 60.5; of M6-40 here 9 to 11 Nm.
SETTINGS: list[Row] = [
    {},
    {
        "setting_code": "M6-40",
        "anchor_size": "M6",
        "drill_diameter_mm": 6,
        "setting_torque_nm": 10,
    },
]
BAND = {"M12-68": (49.5, 60.5), "M6-40": (9.0, 11.0)}
MEASURED = (
    "hole_depth_mm",
    "projection_mm",
    "fixture_thickness_mm",
    "edge_1_mm",
    "spacing_mm",
    "setting_torque_nm",
    "drill_s",
)


def random_rows() -> list[Row]:
    """Three crews of one site on four days, with blanks, repeats, a coarse gauge."""
    rng = np.random.default_rng(21)
    rows: list[Row] = []
    for crew in ("A", "B", "C"):
        for day in (4, 5, 6, 7):
            at = datetime(2026, 5, day, 8)
            for _ in range(int(rng.integers(25, 45))):
                at += timedelta(seconds=int(rng.choice([0, 5, 240, 900])))
                setting = str(rng.choice(["M12-68", "M6-40"], p=[0.8, 0.2]))
                step = 0.1 if setting == "M6-40" else 0.5
                low, high = BAND[setting]
                torque = round(rng.uniform(low - 1, high + 1) / step) * step
                wrench = str(rng.choice(["", "W1"]))
                # W2 of crew C reads in 5 Nm.
                if crew == "C" and setting == "M12-68" and rng.random() < 0.6:
                    wrench, torque = "W2", float(rng.choice([50, 55, 60]))
                row = {
                    "installed_on": f"2026-05-{day:02d}",
                    "installed_at": at.isoformat(),
                    "crew_code": crew,
                    "setting_code": setting,
                    "wrench_code": wrench,
                    "setting_torque_nm": f"{torque:.1f}" if rng.random() < 0.9 else "",
                    "hole_depth_mm": str(rng.integers(92, 94)),
                    "drill_s": str(rng.choice(["10", "20", ""])),
                    "outcome": str(rng.choice(["set", "abandoned"], p=[0.95, 0.05])),
                }
                copies = rows and rows[-1]["crew_code"] == crew and rng.random() < 0.2
                if copies:
                    copied = (*MEASURED, "setting_code", "wrench_code")
                    row |= {name: rows[-1][name] for name in copied if name in row}
                rows.append(row)
    return rows


@pytest.fixture(scope="module")
def rows() -> list[Row]:
    return random_rows()


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory, rows: list[Row]) -> Store:
    return build_store(tmp_path_factory.mktemp("signs"), rows, settings=SETTINGS)


Key = tuple[str, str, str]
Counts = dict[tuple[str, str, str, object], list[int]]


def twin_counts(rows: list[Row]) -> Counts:
    """Return [found, of] by crew, day, sign and what makes rows alike."""
    batches: dict[tuple[str, str], list[Row]] = defaultdict(list)
    for row in rows:
        if row["outcome"] != "abandoned":
            batches[str(row["crew_code"]), str(row["installed_on"])].append(row)
    counts: Counts = defaultdict(lambda: [0, 0])

    def count(batch: tuple[str, str], sign: str, alike: object, shown: bool) -> None:
        counts[(*batch, sign, alike)][0] += shown
        counts[(*batch, sign, alike)][1] += 1

    for batch, members in batches.items():
        before: dict[str, Row] = {}
        for row in members:
            setting = str(row["setting_code"])
            step = 5.0 if row["wrench_code"] == "W2" else BAND_STEP[setting]
            alike = (setting, step)
            last = before.get(setting)
            if row["setting_torque_nm"]:
                torque = float(str(row["setting_torque_nm"]))
                low, high = BAND[setting]
                near = min(torque - low, high - torque)
                count(batch, "edge", alike, -1e-9 <= near <= 0.05 * (high - low))
                tens = torque / (10 * step)
                count(batch, "round", alike, abs(tens - round(tens)) < 1e-9)
                if last and last["setting_torque_nm"]:
                    repeated = torque == float(str(last["setting_torque_nm"]))
                    count(batch, "torque", alike, repeated)
            if last:
                same = all(row.get(name) == last.get(name) for name in MEASURED)
                count(batch, "record", alike, same)
            before[setting] = row
        timed = sorted(
            datetime.fromisoformat(str(row["installed_at"])) for row in members
        )
        size = floor(log2(len(members)))
        for at in timed[:-1]:
            count(batch, "stamp", size, at >= timed[-1] - timedelta(minutes=10))
        in_time = sorted(members, key=_in_time)
        for first, second in pairwise(in_time):
            if second["drill_s"]:
                gap = datetime.fromisoformat(
                    str(second["installed_at"])
                ) - datetime.fromisoformat(str(first["installed_at"]))
                drilled = float(str(second["drill_s"]))
                count(batch, "pace", size, gap.total_seconds() < drilled)
    return counts


def _in_time(row: Row) -> tuple[str, float]:
    """Anchors of one instant come in order of their drilling time, blank ones last."""
    drilled = str(row["drill_s"])
    return str(row["installed_at"]), float(drilled) if drilled else float("inf")


BAND_STEP = {"M12-68": 0.5, "M6-40": 0.1}


def torques_inside(rows: list[Row]) -> Inside:
    """Return the torques inside the band by crew, day and what makes rows alike."""
    inside: Inside = defaultdict(list)
    for row in rows:
        if row["outcome"] == "abandoned" or not row["setting_torque_nm"]:
            continue
        setting, torque = str(row["setting_code"]), float(str(row["setting_torque_nm"]))
        step = 5.0 if row["wrench_code"] == "W2" else BAND_STEP[setting]
        low, high = BAND[setting]
        if low - 1e-9 <= torque <= high + 1e-9:
            key = str(row["crew_code"]), str(row["installed_on"]), (setting, step)
            inside[key].append(torque)
    return inside


def twin_signs(rows: list[Row]) -> dict[Key, tuple[int, int, float]]:
    """Return found, of and the peers' share by crew, day and sign."""
    counts, inside = twin_counts(rows), torques_inside(rows)
    outside: dict[tuple[str, object], list[int]] = defaultdict(lambda: [0, 0])
    for row in rows:
        if row["outcome"] == "abandoned" or not row["setting_torque_nm"]:
            continue
        setting = str(row["setting_code"])
        step = 5.0 if row["wrench_code"] == "W2" else BAND_STEP[setting]
        low, high = BAND[setting]
        torque = float(str(row["setting_torque_nm"]))
        place = outside[str(row["crew_code"]), (setting, step)]
        place[0] += not low - 1e-9 <= torque <= high + 1e-9
        place[1] += 1
    signs: dict[Key, list[float]] = defaultdict(lambda: [0, 0, 0.0])
    for (crew, day, sign, alike), (found, of) in counts.items():
        peers = [
            value
            for (other, _, name, like), value in counts.items()
            if other != crew and name == sign and like == alike
        ]
        k, n = sum(one[0] for one in peers), sum(one[1] for one in peers)
        if n < 20:
            continue
        share = (k + 0.5) / (n + 1)
        if sign == "edge":
            out, judged = outside[crew, alike]
            share = max(share, out / judged)
        if sign == "round":
            share = max(share, honest_round_share(inside, crew, day, alike))
        total = signs[crew, day, sign]
        total[0] += found
        total[1] += of
        total[2] += of * share
    return {
        key: (int(found), int(of), expected / of)
        for key, (found, of, expected) in signs.items()
    }


def test_signs_are_the_twins(store: Store, rows: list[Row]) -> None:
    with store.reader() as con:
        found = read_frame(con, "select * from batch_sign where sign != 'spread'")
    expected = twin_signs(rows)
    mine = {
        (row["crew_code"], str(row["installed_on"]), row["sign"]): (
            row["found"],
            row["row_count"],
            # A Fourier series of twelve terms against the distribution itself.
            pytest.approx(row["peer_share"], abs=1e-4),
        )
        for row in found.to_dicts()
    }
    assert {key[2] for key in expected} == {
        "edge",
        "round",
        "torque",
        "record",
        "pace",
        "stamp",
    }
    assert sum(value[0] for key, value in expected.items() if key[2] == "pace") > 20
    assert expected == mine


# All anchors of a batch are alike to the signs of time: each that is counted is shown.
def test_the_rows_of_a_batch_show_what_was_counted(store: Store) -> None:
    with store.reader() as con:
        counted = read_frame(
            con, "select * from batch_sign where sign in ('pace', 'stamp')"
        ).to_dicts()
        shown = {}
        for row in counted:
            place = row["site_code"], row["crew_code"], row["installed_on"]
            signs = read_batch(con, *place)["signs"].to_list()
            shown[*place, row["sign"]] = sum(row["sign"] in each for each in signs)
    assert len(shown) == 24
    assert shown == {
        (row["site_code"], row["crew_code"], row["installed_on"], row["sign"]): row[
            "found"
        ]
        for row in counted
    }


def test_gauges_of_one_wrench_and_of_none(store: Store) -> None:
    with store.reader() as con:
        gauges = read_frame(con, "select * from gauge")
    step = {
        (row["setting_code"], row["wrench_code"]): row["step_nm"]
        for row in gauges.to_dicts()
    }
    assert step["M12-68", "W2"] == 5
    assert step["M12-68", ""] == step["M12-68", "W1"] == 0.5
    assert step["M6-40", ""] == 0.1


@pytest.fixture(scope="module")
def by_hand(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Sites whose signs are counted by hand."""
    blank = dict.fromkeys(MEASURED, "") | {"hole_depth_mm": "95", "drill_s": "10"}
    spread: list[Row] = [{"setting_torque_nm": one} for one in ("50", "54", "70")]
    spread += [
        {"setting_code": "M6-40", "setting_torque_nm": one} for one in ("10", "10.5")
    ]
    return build_store(
        tmp_path_factory.mktemp("by_hand"),
        settings=SETTINGS,
        sites={
            "SPREAD": spread,
            "WRENCHES": [
                {"setting_torque_nm": "50", "wrench_code": "W1"},
                {"setting_torque_nm": "54", "wrench_code": "W2"},
                {"setting_torque_nm": "52"},
            ],
            "RECORD": [
                {"crew_code": crew, "edge_2_mm": edge} | blank
                for crew in ("A", "B")
                for edge in [""] * 30 + ["100"] * 25
            ],
            # Twenty torques of B, of which nineteen follow another.
            "FEW": [{"crew_code": "A"}] * 5 + [{"crew_code": "B"}] * 20,
        },
    )


def signs_of(store: Store, site: str) -> list[dict[str, object]]:
    with store.reader() as con:
        return read_frame(
            con,
            "from batch_sign where site_code = $site order by crew_code, sign",
            {"site": site},
        ).to_dicts()


def test_spread_is_within_a_setting_code_and_inside_the_band(by_hand: Store) -> None:
    (row,) = [row for row in signs_of(by_hand, "SPREAD") if row["sign"] == "spread"]
    # By hand: (4/11)^2 / 2 of 50 and 54, (0.5/2)^2 / 2 of 10 and 10.5; 2 of freedom.
    assert row["freedom"] == 2
    assert row["spread_frac2"] == pytest.approx((16 / 121 / 2 + 0.0625 / 2) / 2)
    # Read in steps of 2 Nm in a band of 11, of 0.5 in one of 2; Sheppard's step^2 / 12.
    assert row["step_frac2"] == pytest.approx(((2 / 11) ** 2 + 0.25**2) / 12 / 2)


def test_spread_is_over_all_wrenches_of_one_step(by_hand: Store) -> None:
    (row,) = [row for row in signs_of(by_hand, "WRENCHES") if row["sign"] == "spread"]
    # By hand: 50, 52 and 54 lie 2 Nm or none from their mean, in a band of 11.
    assert row["freedom"] == 2
    assert row["spread_frac2"] == pytest.approx(2 * (2 / 11) ** 2 / 2)


def test_a_record_is_compared_only_where_three_values_are_measured(
    by_hand: Store,
) -> None:
    found = signs_of(by_hand, "RECORD")
    # Of 55 rows the 25 with three values; the first of these follows one with two.
    shown = [(row["sign"], row["found"], row["row_count"]) for row in found]
    assert shown == [("record", 24, 24)] * 2
    assert {row["peer_share"] for row in found} == {24.5 / 25}


def test_rows_with_fewer_than_twenty_peers_are_not_compared(by_hand: Store) -> None:
    found = [row for row in signs_of(by_hand, "FEW") if row["sign"] != "spread"]
    assert [(row["crew_code"], row["sign"]) for row in found] == [
        ("A", "edge"),
        ("A", "round"),
    ]
