"""The sentence on top of a page: what its figures say, and what they do not.

Pure: frames in, words out. What a comparison weighs is said in comparison_words.py.
"""

import polars as pl

from dashboard import words
from dashboard.compared import missing_share, pooled
from queries.judgement import ANY_CHECK
from queries.readers.drilling_support import by_method

# From here on the answers that are missing decide as much as those that are there.
MUCH_MISSING = 0.10


# Timed holes from which a size and method has a time of its own (project default).
FEWEST_TIMED = 30


def compare_groups(
    rates: pl.DataFrame, *, label: str, group: str, weighed: str
) -> list[str]:
    """Say what a comparison of one check shows, a line each.

    `rates`: one row a group with `compared.add_others`; `label` the column with the
    names, `group` the noun ("site", "crew"); `weighed` what the comparison says
    (found_words).
    """
    if rates.is_empty() or not rates["judged"].sum():
        return [
            (
                "Nothing to judge: no installation that matches these filters has a "
                "recorded result for this check."
            )
        ]
    check = words.title(rates["check"][0])
    total = pooled(rates).row(0, named=True)
    groups = words.plural(rates.filter(pl.col("judged") > 0).height, group)
    silent = [_missing(rates, label), _nothing(rates, label)]
    said = [
        (
            f"{check}: {words.percent(total['rate'])} of the anchors judged "
            f"{'at' if group == 'site' else 'from'} {groups} are nonconforming "
            f"{_in_what(rates['check'][0])}"
            f"({words.share(total['nonconforming'], total['judged'])})."
        ),
        weighed,
        " ".join(part for part in silent if part),
    ]
    return [part for part in said if part]


def _in_what(check_name: str) -> str:
    """Say that a rate is of anchors, where it is not of one check's verdicts."""
    return "in one check or more " if check_name == ANY_CHECK else ""


def _names(rates: pl.DataFrame, label: str) -> list[str]:
    return [str(name) for name in rates[label].to_list()]


def _missing(rates: pl.DataFrame, label: str) -> str:
    worst = (
        rates.with_columns(missing_share().alias("missing"))
        .filter((pl.col("missing") >= MUCH_MISSING) & (pl.col("judged") > 0))
        .sort("missing", descending=True)
    )
    if worst.is_empty():
        return ""
    row = worst.row(0, named=True)
    others = worst.height - 1
    return (
        f"At {row[label]} {words.percent(row['missing'])} of the answers are missing"
        f"{f' (and over a tenth at {others} more)' if others else ''}: "
        f"its true rate could be anything from "
        f"{words.percent(row['rate_if_unrecorded_conform'])} to "
        f"{words.percent(row['rate_if_unrecorded_not'])}."
    )


def _nothing(rates: pl.DataFrame, label: str) -> str:
    silent = _names(rates.filter(pl.col("judged") == 0), label)
    return f"Nothing to judge at {words.and_list(silent)}." if silent else ""


def drilling(summary: pl.DataFrame) -> str:
    """Say what a good hole costs, from the least to the most, and what is left out.

    `summary`: read_drilling_summary. Of sizes and methods with FEWEST_TIMED timed holes
    or more, where any has as many: one hole that took long is no size's time.
    """
    timed = summary.filter(pl.col("s_per_good_hole").is_not_null())
    if timed.is_empty():
        return "No timed hole matches these filters."
    many = timed.filter(pl.col("completed_timed") >= FEWEST_TIMED)
    few = (
        f" No size and method has {FEWEST_TIMED} timed holes."
        if many.is_empty()
        else ""
    )
    timed = timed if many.is_empty() else many
    ends = [timed.sort("s_per_good_hole").row(end, named=True) for end in (0, -1)]
    texts = [
        f"{words.quantity(row['s_per_good_hole'], 's')} for {row['anchor_size']} "
        f"{by_method(row['drill_method'])}"
        for row in ends
    ]
    attempts, abandoned = (
        words.total(summary, "attempts"),
        words.total(summary, "abandoned"),
    )
    untimed = words.total(summary, "untimed_attempts")
    span = texts[0] if len(timed) == 1 else f"{texts[0]} to {texts[1]}"
    left_out = (
        f" {words.share(untimed, attempts)} attempts were not timed and are in no time "
        "here."
    )
    return (
        f"A good hole takes {span}, the time of abandoned attempts included "
        f"({words.share(abandoned, attempts)} attempts were abandoned)."
        f"{few}{left_out if untimed else ''}"
    )
