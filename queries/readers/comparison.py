"""Sites or crews side by side on one check."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import duckdb
import numpy as np
import polars as pl
import polars.selectors as cs

from queries.errors import FirmsetError
from queries.readers.days import read_judged_days
from queries.readers.evidence import CELL_KEYS, read_evidence
from queries.readers.rates import read_rates
from queries.selection import Selection
from queries.statistics.comparison import Comparison
from queries.statistics.flagging import GroupDays
from queries.statistics.matching import Matched, compare_matched
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
    "silent_nonconforming",
    "variation",
    "more_clean_checks",
    "clean_up_to",
)
# What says who is out of line, and by how much: a fraction of what all figures cost.
FLAG_FIGURES = (
    "expected",
    "ratio",
    "others_rate",
    "p_value",
    "flagged",
    "mix_part",
    "performance_part",
    "ratio_low",
    "ratio_high",
    "silent_judged",
    "silent_nonconforming",
    "clean_up_to",
)
WHOLE = (
    *("rank_low", "rank_high", "silent_judged", "silent_nonconforming"),
    "more_clean_checks",
)
COUNTED = ("judged", "nonconforming", "rate", "low", "high")
# Keys of the kind of work that a group is compared without, parted by commas, where one
# side recorded none (queries/statistics/matching.py); null mostly.
WITHOUT = "without"
# What missing answers would have to be: queries/statistics/tipping.py.
TIPS = ("missing", "others_missing", "tips_side", "tips_by", "tips_conforming")


@dataclass(frozen=True)
class Compared:
    """One check's comparison of every "site" or "crew" (`by`).

    `rates`: read_rates of all of them on this check; `matched`: what they come to, None
    without any. `chosen`: those that are shown (empty: all); it changes no figure.
    """

    by: str
    rates: pl.DataFrame
    matched: Matched | None
    chosen: tuple[str, ...] = ()

    @property
    def answer(self) -> Comparison | None:
        """Return the figures of the groups, None without any."""
        return None if self.matched is None else self.matched.comparison

    @cached_property
    def groups(self) -> pl.DataFrame:
        """Return a row a group: columns group, COUNTED, FIGURES, without and TIPS."""
        return self._shown(self._frame(FIGURES).with_columns(_tips(self.rates)))

    @cached_property
    def flags(self) -> pl.DataFrame:
        """Return only group, COUNTED, FLAG_FIGURES, without, missing of `groups`."""
        return self._shown(self._frame(FLAG_FIGURES).with_columns(_missing(self.rates)))

    @property
    def correlation(self) -> float:
        """Return that of two anchors of one day."""
        return 0.0 if self.answer is None else self.answer.correlation

    @property
    def days(self) -> int:
        """Return in how many days the correlation was seen."""
        return 0 if self.answer is None else self.answer.days

    @property
    def has_days(self) -> bool:
        """Say whether there are days enough to tell a bad day from a bad group."""
        return self.answer is None or self.answer.has_days

    @property
    def is_exact(self) -> bool:
        """Say whether p-values are exact."""
        return self.answer is None or self.answer.is_exact

    def _frame(self, names: Sequence[str]) -> pl.DataFrame:
        counted = self.rates.select(pl.col(self.by).alias("group"), *COUNTED)
        whole = [name for name in names if name in WHOLE]
        if self.matched is None or self.answer is None:
            kinds = {"flagged": pl.Boolean, **dict.fromkeys(whole, pl.Int64)}
            return counted.with_columns(
                *(pl.Series(name, [], kinds.get(name, pl.Float64)) for name in names),
                pl.Series(WITHOUT, [], pl.String),
            )
        figures = pl.DataFrame({name: getattr(self.answer, name) for name in names})
        return counted.hstack(figures).with_columns(
            (cs.float() - cs.by_name(whole)).fill_nan(None),
            cs.by_name(whole).fill_nan(None).cast(pl.Int64),
            pl.Series(
                WITHOUT,
                [",".join(keys) or None for keys in self.matched.without],
                pl.String,
            ),
        )

    def _shown(self, groups: pl.DataFrame) -> pl.DataFrame:
        if not self.chosen:
            return groups
        return groups.filter(pl.col("group").is_in(list(self.chosen)))


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
    found = {}
    for each in evidence:
        own = rates.filter(pl.col("check") == each.check_name)
        matched = (
            None
            if own.is_empty()
            else compare_matched(each.cells, each.kinds, cell_keys, each.days)
        )
        found[each.check_name] = Compared(by, own, matched, selection.chosen(by))
    return found


def _missing(rates: pl.DataFrame) -> pl.Series:
    """Return how many due checks of each row have no answer."""
    missing = rates["unrecorded"] + rates["unreadable"]
    return missing.cast(pl.Int64).alias("missing")


def _tips(rates: pl.DataFrame) -> list[pl.Series]:
    missing = _missing(rates)
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
    """Return what the flags of read_comparison promise, held to these very days.

    Those of all sites (crews): a filter on them changes no flag.
    """
    if by not in COMPARED_BY:
        raise FirmsetError(f"--by {by}: expected {' or '.join(COMPARED_BY)}")
    whole = selection.choosing(by, ())
    days = read_judged_days(con, check_name, whole, by)
    if days.is_empty():
        raise FirmsetError(
            f"{check_name}: nothing is judged in this selection, so nothing to shuffle"
        )
    label = days["group_name"].rank("dense").to_numpy().astype(np.int64) - 1
    counted = GroupDays(
        label, days["judged"].to_numpy(), days["nonconforming"].to_numpy()
    )
    return shuffle_labels(counted, int(label.max()) + 1, shuffles, seed)
