"""What Sites says on top where no check is chosen: the headline checks at once. Pure.

Each check is weighed on its own, its flags corrected over the sites compared on it.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import polars as pl

from dashboard import words
from dashboard.compared import found_beside, missing_share, pooled
from dashboard.comparison_words import (
    CAUTION,
    NAMED,
    NOWHERE,
    could_words,
    expected_words,
    few_days_words,
    times_words,
    without_words,
)
from dashboard.mix_words import doing_points
from dashboard.sentences import MUCH_MISSING
from queries.readers.comparison import Compared
from queries.readers.quiet import QUIET_AFTER

MIX = "for its mix of sizes, methods and orientations"
NOTHING_COMPARES = "Nothing compares: no other site has judged like work."
Weighed = Mapping[str, Compared]


def headline_lead(
    rates: pl.DataFrame,
    weighed: Weighed,
    names: Mapping[str, str],
    quiet: Sequence[tuple[str, date]] = (),
) -> list[str]:
    """Return whom to ask about what first, and what else bears on it, a line each.

    `rates`: site_rates of the headline checks; `weighed`: each check's comparison
    by its name; `names`: the names of sites by code; `quiet`: read_kept_quiet.
    """
    judged = rates.filter(pl.col("judged") > 0)
    if judged.is_empty():
        return [
            (
                "Nothing to judge: no installation that matches these filters has a "
                "recorded result for a headline check."
            )
        ]
    silent = " ".join(filter(None, [_missing(rates), _nothing(rates)]))
    found = flagged_words(weighed, names) or [NOTHING_COMPARES]
    is_any_flagged = bool(standing_out(weighed, names))
    counted = "" if is_any_flagged else _rates(rates)
    said = [*found, counted, silent, quiet_words(quiet, names)]
    return [line for line in said if line]


def standing_out(weighed: Weighed, names: Mapping[str, str]) -> list[dict[str, Any]]:
    """Return the rows of the comparisons that are out of line, with check and name.

    Those with the most nonconforming beyond what would be expected come first.
    """
    flagged = [row for row in _rows(weighed, names) if row["flagged"]]
    return sorted(
        flagged,
        key=lambda row: (
            row["expected"] - found_beside(row),
            row["name"],
            row["check"],
        ),
    )


def _rows(weighed: Weighed, names: Mapping[str, str]) -> list[dict[str, Any]]:
    return [
        row | {"check": check, "name": names.get(row["group"], row["group"])}
        for check, compared in weighed.items()
        for row in compared.flags.to_dicts()
        if row["p_value"] is not None
    ]


def flagged_words(weighed: Weighed, names: Mapping[str, str]) -> list[str]:
    """Return who is out of line on what, a line or two; none where nothing compares."""
    rows = _rows(weighed, names)
    if not rows:
        return []
    flagged = standing_out(weighed, names)
    if not flagged:
        return [
            (
                f"No site is out of line {MIX} on a headline check. That is no "
                f"clearance{_could(weighed)}. {CAUTION}"
            )
        ]
    first, *others = flagged
    few = "" if weighed[first["check"]].has_days else few_days_words("site")
    lead = (
        f"Of the headline checks, ask first about {_topic(first)} at {first['name']}: "
        f"{expected_words(first)}. {_owed(first)} {few}".strip()
    )
    if not others:
        return [lead, CAUTION]
    told = [f"{row['name']} on {_topic(row)} ({_times(row)})" for row in others[:NAMED]]
    if len(others) > NAMED:
        told.append(f"{len(others) - NAMED} more")
    return [lead, f"Out of line on these as well: {words.and_list(told)}. {CAUTION}"]


def _times(row: Mapping[str, Any]) -> str:
    return f"{times_words(row)}{without_words(row)}"


def _topic(row: Mapping[str, Any]) -> str:
    return words.title(row["check"]).lower()


def _owed(row: Mapping[str, Any]) -> str:
    """Say what of the difference is the mix of work, and what the doing."""
    if row["mix_part"] is None:
        return ""
    return (
        f"Of the {words.points(row['rate'] - row['others_rate'])} points between it "
        f"and the others its mix of work makes {words.points(row['mix_part'])}, its "
        f"doing {doing_points(row)}."
    )


def quiet_words(quiet: Sequence[tuple[str, date]], names: Mapping[str, str]) -> str:
    """Name the sites that have gone quiet; empty where none has."""
    if not quiet:
        return ""
    told = [
        f"{names.get(code, code)} (last on {words.day(last_on)})"
        for code, last_on in quiet
    ]
    return (
        f"Nothing installed, by any crew and of any size, for {QUIET_AFTER.days} days "
        "or more before the newest anchor of all, which is no good figure either: "
        f"{words.and_list(told)}."
    )


def _could(weighed: Weighed) -> str:
    """Say from which rate on half of the sites would have been flagged."""
    half = {
        words.title(check).lower(): could_words(compared.groups.to_dicts())
        for check, compared in weighed.items()
    }
    seen = [
        f"{check} {rate}" for check, rate in half.items() if rate and rate != NOWHERE
    ]
    never = [check for check, rate in half.items() if rate == NOWHERE]
    told = []
    if seen:
        told.append(
            "only at a true rate of so much or more (8 times of 10): "
            f"{words.and_list(seen)}"
        )
    if never:
        told.append(f"on {words.and_list(never)} at no rate at all")
    return f": half of the sites would be flagged {'; '.join(told)}" if told else ""


def _rates(rates: pl.DataFrame) -> str:
    """Say what was found over all sites: what they share no comparison shows."""
    told = [
        (
            f"{words.title(row['check']).lower()} {words.percent(row['rate'])} "
            f"({words.share(row['nonconforming'], row['judged'])})"
        )
        for row in pooled(rates).iter_rows(named=True)
        if row["judged"]
    ]
    return f"Nonconforming of the anchors judged, over all: {words.and_list(told)}."


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
        f" (and over a tenth in {more} of a site and a headline check)"
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
