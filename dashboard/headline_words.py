"""What Sites says on top where no check is chosen: the headline checks at once. Pure.

Each check is weighed on its own, its flags corrected over the sites compared on it.
"""

from collections.abc import Mapping
from typing import Any

import polars as pl

from dashboard import words
from dashboard.compared import missing_share, pooled
from dashboard.comparison_words import CAUTION, NAMED, against_words
from dashboard.sentences import MUCH_MISSING
from queries.readers.comparison import Compared

MIX = "for its mix of sizes, methods and orientations"


def headline_lead(
    rates: pl.DataFrame, weighed: Mapping[str, Compared], names: Mapping[str, str]
) -> str:
    """Say which sites are out of line on which headline check, the worst first.

    `rates`: read_site_rates of the headline checks; `weighed`: each check's comparison
    by its name; `names`: the names of sites by code.
    """
    judged = rates.filter(pl.col("judged") > 0)
    if judged.is_empty():
        return (
            "Nothing to judge: no installation that matches these filters has a "
            "recorded result for a headline check."
        )
    said = [
        flagged_words(weighed, names),
        _rates(rates),
        _missing(rates),
        _nothing(rates),
    ]
    return " ".join(part for part in said if part)


def flagged_words(weighed: Mapping[str, Compared], names: Mapping[str, str]) -> str:
    """Return who is out of line on what; empty where nothing compares."""
    rows = [
        row
        | {
            "check": check,
            "name": (
                f"{names.get(row['group'], row['group'])} on "
                f"{words.title(check).lower()}"
            ),
        }
        for check, compared in weighed.items()
        for row in compared.groups.to_dicts()
        if row["p_value"] is not None
    ]
    if not rows:
        return ""
    flagged = sorted(
        (row for row in rows if row["flagged"]),
        key=lambda row: row["ratio"] or 0,
        reverse=True,
    )
    if not flagged:
        return (
            f"No site is out of line {MIX} on a headline check. That is no "
            f"clearance{_could(rows)}. {CAUTION}"
        )
    told = [against_words(row) for row in flagged[:NAMED]]
    more = len(flagged) - NAMED
    return (
        f"Out of line {MIX}: {'; '.join(told)}"
        f"{f'; and {more} more' if more > 0 else ''}. {CAUTION}"
    )


def _could(rows: list[dict[str, Any]]) -> str:
    """Say from which rate on half of the sites would have been flagged."""
    told = []
    for check in dict.fromkeys(row["check"] for row in rows):
        seen = sorted(
            row["detectable_rate"]
            for row in rows
            if row["check"] == check and row["detectable_rate"]
        )
        if seen:
            rate = words.percent(seen[len(seen) // 2])
            told.append(f"{words.title(check).lower()} {rate}")
    if not told:
        return ""
    return (
        ": half of the sites would be flagged only at a true rate of so much or more "
        f"(8 times of 10): {words.and_list(told)}"
    )


def _rates(rates: pl.DataFrame) -> str:
    told = [
        (
            f"{words.title(row['check']).lower()} {words.percent(row['rate'])} "
            f"({words.share(row['nonconforming'], row['judged'])})"
        )
        for row in pooled(rates).iter_rows(named=True)
        if row["judged"]
    ]
    return f"Nonconforming of the anchors judged: {words.and_list(told)}."


def _missing(rates: pl.DataFrame) -> str:
    """Name the site and check that most answers are missing of, none judged or some."""
    worst = (
        rates.with_columns(missing_share().alias("missing"))
        .filter(pl.col("missing") >= MUCH_MISSING)
        .sort("missing", "installations", descending=True, maintain_order=True)
    )
    if worst.is_empty():
        return ""
    row = worst.row(0, named=True)
    more = words.plural(worst.height - 1, "more case")
    also = (
        f" (and over a tenth in {more} of a site and a check)"
        if worst.height > 1
        else ""
    )
    return (
        f"At {row['name']} {words.percent(row['missing'])} of the answers on "
        f"{words.title(row['check']).lower()} are missing{also}: its true rate could "
        f"be anything from {words.percent(row['rate_if_unrecorded_conform'])} to "
        f"{words.percent(row['rate_if_unrecorded_not'])}."
    )


def _nothing(rates: pl.DataFrame) -> str:
    total = rates.group_by("name", maintain_order=True).agg(pl.col("judged").sum())
    silent = total.filter(pl.col("judged") == 0)["name"].to_list()
    return f"Nothing to judge at {words.and_list(silent)}." if silent else ""
