"""Whom to retrain on what, first."""

from dataclasses import dataclass, replace
from datetime import date, timedelta

import duckdb
import numpy as np
import polars as pl

from queries.judgement import CHECK_NAMES
from queries.readers.crew_work import add_work
from queries.readers.directions import read_directions
from queries.readers.evidence import CELL_KEYS, Evidence, read_evidence
from queries.readers.plans import read_plans
from queries.readers.rates import require_known
from queries.selection import Selection
from queries.statistics.comparison import probable_rates, work_of
from queries.statistics.flagging import (
    FLAGGED_AT,
    q_values,
    ratio_of,
    tells_days,
)
from queries.statistics.matching import weigh_matched
from queries.statistics.retraining import (
    at_own_mix,
    avoidable,
    keep_own_rates,
    reachable_rate,
)

# What a crew did longer ago says little of it today (project default).
EVIDENCE = timedelta(weeks=26)
PACE = timedelta(weeks=8)
# Less than one anchor, spared by who is not clear of chance, is no reason to train.
WORTH_LISTING = 0.5
# Fewer nonconforming in work that no other crew did are not worth a line.
FEW = 5
COLUMNS = (
    "crew",
    "check",
    "judged",
    "nonconforming",
    "rate",
    "eb_rate",
    "reachable_rate",
    "planned",
    "avoidable",
    "avoidable_low",
    "avoidable_high",
    "p_value",
    "q_value",
    "is_clear",
    "direction",
    "direction_share",
    "eb_low",
    "eb_high",
    "judged_lately",
    "variation",
    "missing",
    "crew_name",
    "site_codes",
)


@dataclass(frozen=True)
class CheckTotal:
    """How many anchors of all crews a check judged, and found nonconforming."""

    check: str
    nonconforming: int
    judged: int


@dataclass(frozen=True)
class Unlike:
    """What a crew did of a check in work that no other crew did: nothing compares."""

    crew: str
    check: str
    nonconforming: int
    judged: int


@dataclass(frozen=True)
class RetrainingList:
    """`entries`: COLUMNS, at most the budget: those clear of chance before the others,
    of each the most avoidable first. `eb_rate` and `reachable_rate` (of the better
    quarter of crews) are those of the crew's own mix of work.

    Of the evidence: `missing`, the crew's checks due without an answer, and the
    `site_codes` at which it worked. `crew_name`: as in its sheet, null without one.

    `pairs`: crews x checks that can tell (q_values of queries/statistics/flagging.py).
    `from_on` to `to_on`: the evidence; `pace_from_on` to `to_on` the weeks whose pace
    the plan takes (None: no installation at all), but for `planned_sites`, whose
    `planned_holes` of the next 8 weeks are loaded.

    `totals`: of the evidence of all crews, the checks with anything nonconforming, by
    their rates. What crews have in common no comparison of them shows. `unlike`: of
    the crews chosen, where FEW or more are nonconforming; the most first. `has_days`:
    there are days enough to tell bad days from bad crews (flagging.tells_days).
    """

    entries: pl.DataFrame
    pairs: int
    from_on: date | None
    to_on: date | None
    pace_from_on: date | None
    planned_sites: tuple[str, ...] = ()
    planned_holes: float = 0.0
    totals: tuple[CheckTotal, ...] = ()
    unlike: tuple[Unlike, ...] = ()
    has_days: bool = True


def read_retraining(
    con: duckdb.DuckDBPyConnection, selection: Selection, budget: int
) -> RetrainingList:
    """Return the crew x check pairs with most avoidable nonconforming anchors.

    Evidence: the selection, or without a first day the last 26 weeks in it. Planned:
    the checks due in the next 8 weeks by the loaded plans; of sites without one, those
    of the last 8 weeks, taken for the next.
    q is over all pairs that can tell; is_clear where it is at most 5 % and the crew
    does worse than the others within like work. Others are listed where they could
    spare WORTH_LISTING or more. A filter on crews chooses which are listed; all are
    weighed.
    """
    check_names = selection.check_names or CHECK_NAMES
    require_known("check", check_names, CHECK_NAMES)
    last_on = _last_day(con, selection)
    empty = pl.DataFrame(schema=dict.fromkeys(COLUMNS, pl.String))
    if last_on is None:
        return RetrainingList(empty, 0, None, None, None)
    first_on = selection.from_on or last_on - EVIDENCE + timedelta(days=1)
    pace_on = max(last_on - PACE + timedelta(days=1), first_on)
    within = replace(selection, from_on=first_on, to_on=last_on, crew_codes=())
    plans = read_plans(con, check_names, replace(within, from_on=pace_on))
    judged = [
        evidence
        for evidence in read_evidence(con, "crew_code", check_names, within)
        if evidence.cells.judged.any()
    ]
    weighed = [_pairs(evidence, plans.checks) for evidence in judged]
    if not weighed:
        return RetrainingList(empty, 0, first_on, last_on, pace_on)
    pairs = pl.concat(weighed)
    q_value = q_values(pairs["p_value"].to_numpy(), pairs["can_tell"].to_numpy())
    pairs = pairs.with_columns(pl.Series("q_value", q_value)).with_columns(
        ((pl.col("q_value") <= FLAGGED_AT) & pl.col("is_worse")).alias("is_clear")
    )
    of_crews = pl.lit(value=True)
    if selection.crew_codes:
        of_crews = pl.col("crew").is_in(list(selection.crew_codes))
    # Of none found nobody is retrained, whatever few anchors leave open.
    listed = pairs.filter(
        of_crews,
        (pl.col("avoidable") >= WORTH_LISTING)
        | (pl.col("is_clear") & (pl.col("avoidable") > 0)),
        pl.col("nonconforming") > 0,
    )
    # One nonconforming anchor of one judged has much to spare and little to say so.
    order = ["is_clear", "avoidable", "crew", "check"]
    top = listed.sort(order, descending=[True, True, False, False]).head(budget)
    count = pairs.filter("can_tell").height
    return RetrainingList(
        add_work(con, _with_directions(con, top, within), within).select(COLUMNS),
        count,
        first_on,
        last_on,
        pace_on,
        plans.planned_sites,
        plans.hole_count,
        _totals(pairs),
        _unlike(pairs.filter(of_crews)),
        all(tells_days(evidence.days) for evidence in judged),
    )


def _unlike(pairs: pl.DataFrame) -> tuple[Unlike, ...]:
    found = (
        pairs.filter(pl.col("unlike_nonconforming") >= FEW)
        .sort("unlike_nonconforming", "crew", "check", descending=[True, False, False])
        .select("crew", "check", "unlike_nonconforming", "unlike_judged")
    )
    return tuple(Unlike(*row) for row in found.iter_rows())


def _totals(pairs: pl.DataFrame) -> tuple[CheckTotal, ...]:
    summed = (
        pairs.group_by("check", maintain_order=True)
        .agg(pl.col("nonconforming", "judged").sum())
        .filter(pl.col("nonconforming") > 0)
        .sort(pl.col("nonconforming") / pl.col("judged"), descending=True)
    )
    return tuple(CheckTotal(*row) for row in summed.iter_rows())


def _last_day(con: duckdb.DuckDBPyConnection, selection: Selection) -> date | None:
    """Return the last day with work in the selection."""
    found = con.execute(
        """
        select max(installed_on) from tally
        where ($to_on is null or installed_on <= $to_on::date)
            and ($from_on is null or installed_on >= $from_on::date)
            and ($site_codes is null or list_contains($site_codes, site_code))
            and ($anchor_sizes is null or list_contains($anchor_sizes, anchor_size))
        """,
        {
            name: value
            for name, value in selection.parameters().items()
            if name != "crew_codes"
        },
    ).fetchall()
    last_on: date | None = found[0][0]
    return last_on


def _pairs(evidence: Evidence, planned: pl.DataFrame) -> pl.DataFrame:
    """Return a row a crew of one check: COLUMNS but q and what follows from it."""
    cells = evidence.cells
    judged = cells.judged.sum(axis=1)
    found = cells.nonconforming.sum(axis=1)
    weighed = weigh_matched(cells, evidence.kinds, CELL_KEYS, evidence.days)
    shrunk = probable_rates(work_of(weighed), weighed.inflation)
    probable = at_own_mix(keep_own_rates(shrunk, weighed.q_value <= FLAGGED_AT))
    reachable = np.minimum(
        reachable_rate(probable.x, probable.n) * probable.difficulty, 1.0
    )
    crews = pl.DataFrame(
        {
            "crew": evidence.groups,
            "check": [evidence.check_name] * len(evidence.groups),
            "judged": judged,
            "nonconforming": found,
            "rate": ratio_of(found, judged),
            "is_worse": weighed.is_worse,
            "can_tell": weighed.can_tell,
            "unlike_judged": judged - weighed.comparable_judged,
            "unlike_nonconforming": found - weighed.comparable_nonconforming,
            "eb_rate": probable.rate,
            "eb_low": probable.low,
            "eb_high": probable.high,
            "reachable_rate": reachable,
            "p_value": weighed.p_value,
            "variation": weighed.variation,
        }
    ).join(planned, on=["crew", "check"], how="left", maintain_order="left")
    crews = crews.with_columns(pl.col("planned", "judged_lately").fill_null(0))
    planned_holes = crews["planned"].to_numpy().astype(np.float64)
    spared = avoidable(probable, planned_holes, reachable)
    return crews.with_columns(
        avoidable=pl.Series(spared.count).fill_nan(None),
        avoidable_low=pl.Series(spared.low).fill_nan(None),
        avoidable_high=pl.Series(spared.high).fill_nan(None),
    )


def _with_directions(
    con: duckdb.DuckDBPyConnection, top: pl.DataFrame, within: Selection
) -> pl.DataFrame:
    """Add the side of the limit on which most of a pair's nonconforming anchors lie."""
    if top.is_empty():
        return top.with_columns(
            direction=pl.lit(None, pl.String), direction_share=pl.lit(None, pl.Float64)
        )
    crews = replace(within, crew_codes=tuple(top["crew"].unique()))
    sides = read_directions(con, top["check"].unique().to_list(), crews)
    return top.join(sides, on=["crew", "check"], how="left", maintain_order="left")
