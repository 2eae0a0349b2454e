"""The figures of one site or crew on every check, from the readers of the pages."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import duckdb
import polars as pl

from dashboard import words
from dashboard.compared import add_others, found_beside
from dashboard.comparison_words import keys_without, times_words
from dashboard.kept import read_kept_comparisons
from dashboard.sentences import MUCH_MISSING
from dashboard.sheets.content import CheckLine, Picture
from queries.judgement import ANY_CHECK, CHECK_NAMES, RATE_NAMES
from queries.readers.rates import read_rates
from queries.selection import Selection

FLAG = "\N{BLACK UP-POINTING TRIANGLE}"


@dataclass(frozen=True)
class CheckFigures:
    """One check of one site or crew.

    `rate`: its row of read_rates with add_others; `compared`: its row of
    read_comparison; both None where it has no installation in the selection.
    """

    check_name: str
    rate: Mapping[str, Any] | None
    compared: Mapping[str, Any] | None

    @property
    def title(self) -> str:
        return words.title(self.check_name)

    @property
    def judged(self) -> int:
        return int(self.rate["judged"]) if self.rate else 0

    @property
    def missing(self) -> int:
        """Checks due without an answer: unrecorded or unreadable."""
        return (
            int(self.rate["unrecorded"] + self.rate["unreadable"]) if self.rate else 0
        )

    @property
    def missing_share(self) -> float:
        due = self.judged + self.missing
        return self.missing / due if due else 0.0

    @property
    def is_much_missing(self) -> bool:
        return self.missing > 0 and self.missing_share >= MUCH_MISSING

    @property
    def without(self) -> str:
        """Return in words what it is compared without, "" mostly."""
        return keys_without(self.compared) if self.compared else ""

    @property
    def compares(self) -> bool:
        return self.compared is not None and self.compared["p_value"] is not None

    @property
    def is_flagged(self) -> bool:
        return self.compared is not None and bool(self.compared["flagged"])

    @property
    def excess(self) -> float:
        """Nonconforming beyond what the others' rates would give for its mix."""
        row = self.compared
        if row is None or row["expected"] is None:
            return 0.0
        return float(found_beside(row) - row["expected"])


def read_figures(
    con: duckdb.DuckDBPyConnection, by: str, code: str, selection: Selection
) -> tuple[tuple[CheckFigures, ...], Mapping[str, Any] | None]:
    """Return the figures of every check in their order, and the rates of "any check".

    `by` is "site" or "crew", `code` which one. The others are all others that the rest
    of the selection leaves; its own checks choose nothing. All groups are weighed at
    once and kept, so that the next sheet of the same view costs next to nothing.
    """
    whole = replace(selection.choosing(by, ()), check_names=RATE_NAMES)
    rates = add_others(read_rates(con, [by], whole), by).filter(pl.col(by) == code)
    rows = {row["check"]: row for row in rates.iter_rows(named=True)}
    weighed = read_kept_comparisons(con, by, CHECK_NAMES, whole)
    return tuple(
        CheckFigures(name, rows.get(name), _only(weighed[name].groups, code))
        for name in CHECK_NAMES
    ), rows.get(ANY_CHECK)


def _only(groups: pl.DataFrame, code: str) -> Mapping[str, Any] | None:
    rows = groups.filter(pl.col("group") == code).to_dicts()
    return rows[0] if rows else None


def check_line(figures: CheckFigures) -> CheckLine:
    """Return one check as the texts of its line."""
    row = figures.rate
    if row is None or not row["judged"]:
        return CheckLine(
            title=figures.title,
            judged="0",
            nonconforming=words.DASH,
            rate=words.DASH,
            others=words.DASH if row is None else _rate(row["others_rate"]),
            missing=_missing(figures),
            truth=words.DASH,
            verdict=words.NOTHING,
            picture=None,
        )
    return CheckLine(
        title=figures.title,
        judged=words.count(row["judged"]),
        nonconforming=words.count(row["nonconforming"]),
        rate=_with_interval(row),
        others=_rate(row["others_rate"]),
        missing=_missing(figures),
        truth=words.interval(
            row["rate_if_unrecorded_conform"], row["rate_if_unrecorded_not"]
        ),
        verdict=_verdict(figures),
        picture=_picture(figures, row),
    )


def _with_interval(row: Mapping[str, Any]) -> str:
    return f"{words.percent(row['rate'])} ({words.interval(row['low'], row['high'])})"


def _picture(figures: CheckFigures, row: Mapping[str, Any]) -> Picture:
    return Picture(
        rate=row["rate"],
        low=row["low"],
        high=row["high"],
        truth_low=row["rate_if_unrecorded_conform"],
        truth_high=row["rate_if_unrecorded_not"],
        others_rate=row["others_rate"],
        is_flagged=figures.is_flagged,
    )


def _rate(fraction: float | None) -> str:
    return words.DASH if fraction is None else words.percent(fraction)


def _missing(figures: CheckFigures) -> str:
    if not figures.missing:
        return "0"
    return f"{words.count(figures.missing)} ({words.percent(figures.missing_share)})"


def shown_times(figures: CheckFigures) -> str:
    """Return how many times the expected a flagged check shows."""
    compared = figures.compared
    return times_words(compared) if compared else "more than expected"


def _verdict(figures: CheckFigures) -> str:
    if not figures.compares:
        return "nothing compares"
    if figures.is_flagged:
        return f"{FLAG} {shown_times(figures)}"
    seen = figures.compared["detectable_rate"] if figures.compared else None
    return f"could see from {words.percent(seen)}" if seen is not None else words.DASH


def counted_words(any_check: Mapping[str, Any] | None) -> str:
    """Return how many anchors the sheet is about; empty where there is none."""
    if any_check is None:
        return ""
    logged = words.plural(any_check["installations"], "installation")
    if not any_check["judged"]:
        return f"{logged} logged; {words.NOTHING}."
    return (
        f"{logged} logged. Of the anchors judged "
        f"{words.share(any_check['nonconforming'], any_check['judged'])} are "
        f"nonconforming in one check or more ({words.percent(any_check['rate'])}); an "
        "anchor with several faults counts once here."
    )


def lower_list(figures: list[CheckFigures]) -> str:
    """Return the titles of checks within a sentence, all of them."""
    titles = [each.title.lower() for each in figures]
    if len(titles) < 2:
        return "".join(titles)
    return " and ".join([", ".join(titles[:-1]), titles[-1]])
