"""The others' rate and the holes lost on the way, counted by hand."""

import polars as pl
import pytest

from dashboard.compared import add_others, pooled
from dashboard.life_table import add_lost


def _rates(*rows: tuple[str, int, int, float | None, float | None]) -> pl.DataFrame:
    return pl.DataFrame(
        rows,
        schema=["site", "judged", "nonconforming", "low", "high"],
        orient="row",
    ).with_columns(
        pl.lit("hole_depth").alias("check"),
        pl.col("judged").alias("installations"),
        pl.lit(0).alias("unrecorded"),
        pl.lit(0).alias("unreadable"),
    )


def test_add_others_leaves_the_group_out_of_its_own_yardstick() -> None:
    # A 10/100; the others 2/150. B 2/100; the others 10/150. C 0/50; 12/200.
    rates = _rates(
        ("A", 100, 10, 0.055, 0.174),
        ("B", 100, 2, 0.006, 0.070),
        ("C", 50, 0, 0.0, 0.071),
    )
    compared = add_others(rates, "site")
    assert compared["others_rate"].to_list() == pytest.approx([2 / 150, 10 / 150, 0.06])
    assert compared["position"].to_list() == ["above", "around", "around"]


def test_add_others_nothing_judged_is_no_position() -> None:
    rates = _rates(("A", 0, 0, None, None), ("B", 10, 1, 0.018, 0.404))
    compared = add_others(rates, "site")
    assert compared["position"].to_list() == [None, None]
    # B has no other with anything judged: no rate, not 0.
    assert compared["others_rate"].to_list() == [0.1, None]


def test_add_others_keeps_checks_apart() -> None:
    depth = _rates(("A", 10, 1, 0.0, 1.0), ("B", 10, 3, 0.0, 1.0))
    torque = depth.with_columns(
        pl.lit("setting_torque").alias("check"), judged=2 * pl.col("judged")
    )
    compared = add_others(pl.concat([depth, torque]), "site")
    assert compared["others_judged"].to_list() == [10, 10, 20, 20]


def test_pooled_is_the_sum_not_the_mean_of_rates() -> None:
    # 10/100 and 0/900: 1 %, where the mean of the two rates would say 5 %.
    total = pooled(_rates(("A", 100, 10, 0.0, 1.0), ("B", 900, 0, 0.0, 1.0)))
    assert total["rate"].to_list() == [0.01]


def test_add_lost_shallow_steps_hold_only_abandoned_holes() -> None:
    # 100 holes to 60 mm, 10 given up at 30 to 40 mm, 9 of the other 90 at 50 to 60.
    # Within the first step 10 of 10 attempts are abandoned: 100 % would be nonsense.
    depths = pl.DataFrame(
        {
            "anchor_size": ["M12"] * 2,
            "drill_method": ["hammer"] * 2,
            "depth_from_mm": [30.0, 50.0],
            "attempts": [10, 90],
            "abandoned": [10, 9],
        }
    )
    lost = add_lost(depths)
    assert lost["reached"].to_list() == [100, 90]
    assert lost["lost_share"].to_list() == pytest.approx([0.10, 0.19])


def test_add_lost_finished_shallow_holes_do_not_count_as_kept_deeper() -> None:
    # 50 finished at 40 mm, 50 planned deeper of which 25 lost: half, not a quarter.
    depths = pl.DataFrame(
        {
            "anchor_size": ["M12"] * 2,
            "drill_method": ["hammer"] * 2,
            "depth_from_mm": [30.0, 80.0],
            "attempts": [50, 50],
            "abandoned": [0, 25],
        }
    )
    assert add_lost(depths)["lost_share"].to_list() == pytest.approx([0.0, 0.5])
