"""Crews under an average inspector, where anchors tell crews from inspectors."""

from dataclasses import dataclass, replace

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from queries.readers.days import read_judged_days
from queries.readers.rates import read_rates
from queries.selection import Selection
from queries.statistics.clustering import day_correlation, design_effects
from queries.statistics.crossed import Cross, Crossed, best_bridge, fit_crossed


@dataclass(frozen=True)
class CrossedCrews:
    """`crews`: one row a crew that names an inspector: crew, group (from 1), judged,
    nonconforming, rate, adjusted_rate with adjusted_low and adjusted_high (under an
    average inspector of its group; null where crew and inspector cannot be told apart),
    inspectors (codes). Counts are of anchors whose inspector is named.

    `inspectors`: inspector, group, judged, nonconforming, rate, odds (of finding an
    anchor nonconforming, against an average inspector of the group; null where it has
    no other), crews (codes).
    `bridges`: group, other_group and the two re-inspections that connect them best:
    crew, inspector, other_crew, other_inspector. `unnamed`: judged without inspector.
    `correlation` of two anchors of one day, which widens intervals.
    """

    crews: pl.DataFrame
    inspectors: pl.DataFrame
    bridges: pl.DataFrame
    unnamed: int
    correlation: float
    crew_spread: float
    inspector_spread: float


def read_crossed(
    con: duckdb.DuckDBPyConnection, check_name: str, selection: Selection
) -> CrossedCrews:
    """Fit crews and inspectors at once on one check (queries/statistics/crossed.py).

    A filter on crews chooses which are shown; all are fitted. Sizes, methods and
    orientations are not adjusted for: compare does that.
    """
    whole = replace(selection, check_names=(check_name,), crew_codes=())
    counted = read_rates(con, ["crew", "inspector"], whole).filter(pl.col("judged") > 0)
    named = counted.filter(pl.col("inspector").is_not_null())
    cross, correlation = _cross(con, check_name, whole, named)
    fitted = fit_crossed(cross) if named.height else None
    crews = _sides(named, "crew", "inspector", fitted)
    inspectors = _sides(named, "inspector", "crew", fitted)
    if selection.crew_codes:
        crews = crews.filter(pl.col("crew").is_in(list(selection.crew_codes)))
    return CrossedCrews(
        crews=crews,
        inspectors=inspectors,
        bridges=_bridges(cross, fitted, named, set(crews["group"])),
        unnamed=int(counted["judged"].sum()) - int(named["judged"].sum()),
        correlation=correlation,
        crew_spread=fitted.crew_spread if fitted else 0.0,
        inspector_spread=fitted.inspector_spread if fitted else 0.0,
    )


def _codes(named: pl.DataFrame, key: str) -> list[str]:
    return sorted(named[key].unique())


def _cross(
    con: duckdb.DuckDBPyConnection,
    check_name: str,
    whole: Selection,
    named: pl.DataFrame,
) -> tuple[Cross, float]:
    """Return the cells; counts are divided by what a crew's bad days cost."""
    crews, inspectors = _codes(named, "crew"), _codes(named, "inspector")
    days = read_judged_days(con, check_name, whole, "crew").filter(
        pl.col("group_name").is_in(crews)
    )
    place = {code: row for row, code in enumerate(crews)}
    of_day = np.array([place[code] for code in days["group_name"]], dtype=np.int64)
    judged = days["judged"].to_numpy()
    correlation = day_correlation(days["nonconforming"].to_numpy(), judged, of_day)
    cost = design_effects(judged, of_day, len(crews), correlation)
    seat = {code: row for row, code in enumerate(inspectors)}
    crew = np.array([place[code] for code in named["crew"]], dtype=np.int64)
    return (
        Cross(
            crew=crew,
            inspector=np.array([seat[one] for one in named["inspector"]], np.int64),
            judged=named["judged"].to_numpy() / cost[crew],
            nonconforming=named["nonconforming"].to_numpy() / cost[crew],
            crews=len(crews),
            inspectors=len(inspectors),
        ),
        correlation,
    )


def _odds(fitted: Crossed) -> NDArray[np.float64]:
    """Return each inspector's odds; NaN where its group has no other to be held to."""
    in_group = np.bincount(fitted.group_of_inspector)[fitted.group_of_inspector]
    return np.where(in_group > 1, fitted.found_by, np.nan)


def _sides(
    named: pl.DataFrame, key: str, other: str, fitted: Crossed | None
) -> pl.DataFrame:
    """Return crews with what is fitted of them, or inspectors."""
    sides = (
        named.group_by(key)
        .agg(
            pl.col("judged", "nonconforming").sum(),
            pl.col(other).unique().sort().alias(f"{other}s"),
        )
        .sort(key)
        .with_columns((pl.col("nonconforming") / pl.col("judged")).alias("rate"))
    )
    none = np.full(0, np.nan)
    if key == "crew":
        group = fitted.group_of_crew if fitted else none
        figures = {
            "adjusted_rate": fitted.rate if fitted else none,
            "adjusted_low": fitted.low if fitted else none,
            "adjusted_high": fitted.high if fitted else none,
        }
    else:
        group = fitted.group_of_inspector if fitted else none
        figures = {"odds": _odds(fitted) if fitted else none}
    return sides.select(
        key,
        pl.Series("group", group + 1).cast(pl.Int64),
        "judged",
        "nonconforming",
        "rate",
        *(pl.Series(name, value).fill_nan(None) for name, value in figures.items()),
        f"{other}s",
    )


def _bridges(
    cross: Cross, fitted: Crossed | None, named: pl.DataFrame, shown: set[int]
) -> pl.DataFrame:
    """Return for each pair of groups, one of them shown, what would connect them."""
    crews, inspectors = _codes(named, "crew"), _codes(named, "inspector")
    groups = int(fitted.group_of_crew.max()) + 1 if fitted else 0
    rows = []
    for here in range(groups):
        for there in range(here + 1, groups):
            if fitted is None or not {here + 1, there + 1} & shown:
                continue
            bridge = best_bridge(cross, fitted, here, there)
            rows.append(
                {
                    "group": here + 1,
                    "other_group": there + 1,
                    "crew": crews[bridge.first[0]],
                    "inspector": inspectors[bridge.first[1]],
                    "other_crew": crews[bridge.second[0]],
                    "other_inspector": inspectors[bridge.second[1]],
                }
            )
    kinds: dict[str, type[pl.DataType]] = {
        "group": pl.Int64,
        "other_group": pl.Int64,
        "crew": pl.String,
        "inspector": pl.String,
        "other_crew": pl.String,
        "other_inspector": pl.String,
    }
    return pl.DataFrame(rows, schema=kinds)
