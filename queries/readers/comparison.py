"""Sites or crews side by side on one check."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import duckdb
import numpy as np
import polars as pl

from queries.errors import FirmsetError
from queries.readers.days import read_judged_days
from queries.readers.evidence import CELL_KEYS, Evidence, read_evidence
from queries.readers.rates import read_rates
from queries.selection import Selection
from queries.statistics.comparison import Comparison, compare
from queries.statistics.flagging import GroupDays
from queries.statistics.shuffling import Shuffled, shuffle_labels
from queries.statistics.tipping import tipping

COMPARED_BY = ("site", "crew")
FIGURES = (
    "expected",
    "ratio",
    "others_rate",
    "p_value",
    "q_value",
    "flagged",
    "eb_rate",
    "rank_low",
    "rank_high",
    "mix_part",
    "performance_part",
    "detectable_rate",
    "eb_low",
    "eb_high",
    "ratio_low",
    "ratio_high",
    "silent_judged",
    "variation",
    "more_clean_checks",
)
WHOLE = ("rank_low", "rank_high", "silent_judged", "more_clean_checks")
COUNTED = ("judged", "nonconforming", "rate", "low", "high")
# What missing answers would have to be: queries/statistics/tipping.py.
TIPS = ("missing", "others_missing", "tips_side", "tips_by", "tips_conforming")


@dataclass(frozen=True)
class Compared:
    """`groups`: one row a group, columns group, COUNTED, FIGURES and TIPS, by group.

    `correlation` of two anchors of one day, seen in so many `days`; `is_exact` where
    p-values are exact.
    """

    groups: pl.DataFrame
    correlation: float
    days: int
    is_exact: bool


def read_comparison(
    con: duckdb.DuckDBPyConnection,
    by: str,
    check_name: str,
    selection: Selection,
    *,
    same_inspector: bool = False,
) -> Compared:
    """Compare every "site" or "crew" (`by`) with all the others on one check.

    A filter on sites (crews) chooses which sites (crews) are shown; the others are
    always all others. A group without judged checks stays, with nulls. Figures are
    defined in queries/statistics/comparison.py. With `same_inspector` anchors are
    compared only with others' that the same inspector judged, so that a strict one is
    no crew's fault; a group whose inspectors judged nobody else cannot be told apart
    from them, and compares with nothing. Raises FirmsetError for another `by`.
    """
    keys = (*CELL_KEYS, "inspector_code") if same_inspector else CELL_KEYS
    return _compare_all(con, by, (check_name,), selection, keys)[check_name]


def read_comparisons(
    con: duckdb.DuckDBPyConnection,
    by: str,
    check_names: Sequence[str],
    selection: Selection,
) -> dict[str, Compared]:
    """Return read_comparison of each check, all counted in three questions."""
    return _compare_all(con, by, check_names, selection, CELL_KEYS)


def _compare_all(
    con: duckdb.DuckDBPyConnection,
    by: str,
    check_names: Sequence[str],
    selection: Selection,
    cell_keys: Sequence[str],
) -> dict[str, Compared]:
    if by not in COMPARED_BY:
        raise FirmsetError(f"--by {by}: expected {' or '.join(COMPARED_BY)}")
    if not check_names:
        return {}
    whole = replace(selection.choosing(by, ()), check_names=tuple(check_names))
    rates = read_rates(con, [by], whole)
    evidence = read_evidence(con, f"{by}_code", check_names, whole, cell_keys)
    return {
        each.check_name: _compared(
            rates.filter(pl.col("check") == each.check_name),
            each,
            by,
            selection.chosen(by),
        )
        for each in evidence
    }


def _compared(
    rates: pl.DataFrame, evidence: Evidence, by: str, chosen: tuple[str, ...]
) -> Compared:
    """Return one check's comparison, of the `chosen` groups (empty: all)."""
    if rates.is_empty():
        return Compared(_frame(rates, by, None), 0.0, 0, True)
    answer = compare(evidence.cells, evidence.days)
    groups = _frame(rates, by, answer)
    if chosen:
        groups = groups.filter(pl.col("group").is_in(list(chosen)))
    return Compared(groups, answer.correlation, answer.days, answer.is_exact)


def _frame(rates: pl.DataFrame, by: str, answer: Comparison | None) -> pl.DataFrame:
    counted = rates.select(pl.col(by).alias("group"), *COUNTED)
    tips = _tips(rates)
    if answer is None:
        kinds = {"flagged": pl.Boolean, **dict.fromkeys(WHOLE, pl.Int64)}
        return counted.with_columns(
            pl.Series(name, [], kinds.get(name, pl.Float64)) for name in FIGURES
        ).with_columns(tips)
    figures = [pl.Series(name, getattr(answer, name)) for name in FIGURES]
    return (
        counted.with_columns(figures)
        .with_columns(pl.col(pl.Float64).fill_nan(None))
        .with_columns(pl.col(WHOLE).cast(pl.Int64))
        .with_columns(tips)
    )


def _tips(rates: pl.DataFrame) -> list[pl.Series]:
    missing = (rates["unrecorded"] + rates["unreadable"]).cast(pl.Int64)
    found = tipping(
        rates["judged"].to_numpy(),
        rates["nonconforming"].to_numpy(),
        missing.to_numpy(),
    )
    values = (
        missing,
        missing.sum() - missing,
        pl.Series(found.side, dtype=pl.Int64),
        pl.Series(found.by, dtype=pl.String),
        pl.Series(found.conforming, dtype=pl.Int64),
    )
    return [each.alias(name) for name, each in zip(TIPS, values, strict=True)]


def read_calibration(
    con: duckdb.DuckDBPyConnection,
    by: str,
    check_name: str,
    selection: Selection,
    shuffles: int = 1000,
    seed: int = 1,
) -> Shuffled:
    """Return what the flags of read_comparison promise, held to these very days."""
    if by not in COMPARED_BY:
        raise FirmsetError(f"--by {by}: expected {' or '.join(COMPARED_BY)}")
    days = read_judged_days(con, check_name, selection, by)
    if days.is_empty():
        raise FirmsetError(
            f"{check_name}: nothing is judged in this selection, so nothing to shuffle"
        )
    label = days["group_name"].rank("dense").to_numpy().astype(np.int64) - 1
    counted = GroupDays(
        label, days["judged"].to_numpy(), days["nonconforming"].to_numpy()
    )
    return shuffle_labels(counted, int(label.max()) + 1, shuffles, seed)
