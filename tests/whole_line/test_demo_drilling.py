"""The demo's planted drilling times, found again at the end of the line."""

from math import exp

import polars as pl
import pytest

from queries.readers.drilling import read_drilling_summary
from queries.readers.drilling_model import read_drilling_data
from queries.selection import Selection
from queries.store import Store


def test_abandoned_holes_rise_with_depth(
    demo_store: Store, truth: pl.DataFrame
) -> None:
    planted_values = truth.filter(kind="abandoned_by_depth")
    values = dict(planted_values.select("unit", "value").iter_rows())
    with demo_store.reader() as con:
        summary = read_drilling_summary(con, Selection())
    # A rate within a factor of 1.25 of the planted one at the median depth: holes of
    # two depths share a size.
    many = summary.filter(pl.col("attempts") > 3_000, drill_method="hammer")
    found = many.sort("median_depth_mm")["abandoned_rate"].to_list()
    assert found == sorted(found)
    assert found[-1] > 3 * found[0]
    for row in many.to_dicts():
        below_cover = row["median_depth_mm"] - values["cover in mm"]
        expected = 1 - exp(-values["hazard per mm"] * below_cover)
        assert row["abandoned_rate"] == pytest.approx(expected, rel=0.25)


def test_the_drilling_model_finds_what_was_planted(
    demo_store: Store, truth: pl.DataFrame
) -> None:
    """Exponents, methods, orientations, wear and hazard; other sites are foretold."""
    kinds = truth.filter(pl.col("kind").is_in(["drilling_time", "abandoned_by_depth"]))
    planted = dict(kinds.select("unit", "value").iter_rows())
    with demo_store.reader() as con:
        model = read_drilling_data(con).model
    assert model is not None
    fit, terms = model.fit, model.terms

    def found(name: str) -> tuple[float, float]:
        at = terms.index(name)
        return float(fit.beta[at]), float(fit.covariance[at, at]) ** 0.5

    for name, value in {
        "depth": planted["depth exponent"],
        "diameter": planted["diameter exponent"],
        "method hollow_bit": planted["hollow bit effect"],
        # Walls are the most frequent, and so the reference.
        "orientation floor": -planted["wall effect"],
        "orientation soffit": planted["soffit effect"] - planted["wall effect"],
    }.items():
        estimate, error = found(name)
        assert abs(estimate - value) <= 4.5 * error, name
    # log(1 + w m) over a bit's 25 m has slopes from w to w / (1 + 25 w); holes logged
    # without their bit, some 4 %, make its metres too few and the slope steeper.
    (wear,) = truth.filter(kind="bit_wear")["value"]
    assert wear / (1 + 25 * wear) < found("bit metres")[0] < 1.05 * wear
    # 16 degrees of freedom: four errors of a deviation are 70 %.
    assert fit.site_var**0.5 == pytest.approx(
        planted["site standard deviation"], rel=0.7
    )
    below_cover = 94 - planted["cover in mm"]
    expected = 1 - exp(-planted["hazard per mm"] * below_cover)
    assert model.abandonment.lost_by(94) == pytest.approx(expected, rel=0.05)
    assert 0.75 <= model.covered <= 0.85


def test_cleaning_and_setting_take_as_long_as_was_planted(
    demo_store: Store, truth: pl.DataFrame
) -> None:
    """Log-normal seconds with 0.3 of log noise deviate by 31 % of their mean."""
    facts = truth.filter(kind="handling_time")
    planted = dict(facts.select("column_name", "value").iter_rows())
    with demo_store.reader() as con:
        found = read_drilling_data(con).handling
        bits = dict(
            con.execute(
                "select distinct anchor_size, drill_diameter_mm from setting_data"
            ).fetchall()
        )
    assert found.height >= 20  # two steps, seven sizes, two methods but for M6
    for row in found.to_dicts():
        expected = planted[f"{row['step']}_s"]
        if row["step"] == "setting":
            expected *= bits[row["anchor_size"]] / 12
        error = 0.31 * expected / row["anchors"] ** 0.5
        assert abs(row["mean_s"] - expected) <= 4.5 * error, row
        assert row["sites"] <= 2
