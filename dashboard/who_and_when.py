"""By whom and when what is out of line was made: one crew or all, ended or not.

Plain counts beside a flag, as a site meeting asks for them. They compare nothing: a
crew with harder work shows more, and its own page says whether that is out of line.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

import duckdb
import polars as pl

from dashboard import words
from dashboard.parts import Row
from queries.readers.rates import read_rates
from queries.selection import Selection

# A site and a check.
Pair = tuple[str, str]
CREWS_NAMED = 3
MONTHS_NAMED = 3


@dataclass(frozen=True)
class WhoAndWhen:
    """Rates of one site on one check: of its `crews` that were judged, the most
    nonconforming first, and of the `months` with any judged, in their order."""

    crews: tuple[Row, ...]
    months: tuple[Row, ...]


def read_who_and_when(
    con: duckdb.DuckDBPyConnection, pairs: Collection[Pair], selection: Selection
) -> Mapping[Pair, WhoAndWhen]:
    """Return the crews and months behind each site and check, as the filters leave."""
    if not pairs:
        return {}
    within = replace(
        selection,
        site_codes=tuple(sorted({site for site, _ in pairs})),
        check_names=tuple(sorted({check for _, check in pairs})),
    )
    by_crew = _judged(con, "crew", within).sort(
        "nonconforming", "judged", "crew", descending=[True, True, False]
    )
    by_month = _judged(con, "month", within)
    crews, months = (
        {
            pair: tuple(rows.to_dicts())
            for pair, rows in frame.group_by("site", "check", maintain_order=True)
        }
        for frame in (by_crew, by_month)
    )
    return {pair: WhoAndWhen(crews[pair], months[pair]) for pair in pairs}


def _judged(
    con: duckdb.DuckDBPyConnection, key: str, within: Selection
) -> pl.DataFrame:
    return read_rates(con, ["site", key], within).filter(pl.col("judged") > 0)


def crews_words(found: WhoAndWhen) -> str:
    """Say what each crew made of it: those with most by name, the others together."""
    if len(found.crews) == 1:
        return f"All by crew {found.crews[0]['crew']}."
    named = found.crews[: CREWS_NAMED + (len(found.crews) == CREWS_NAMED + 1)]
    told = [f"{row['crew']} {_rate(row)}" for row in named]
    others = found.crews[len(named) :]
    if others:
        told.append(f"the {len(others)} others together {_rate(_together(others))}")
    return f"By crew: {words.and_list(told)}."


def months_words(found: WhoAndWhen) -> str:
    """Say the rates of the last months with any judged."""
    last = found.months[-MONTHS_NAMED:]
    told = [f"{row['month']} {_rate(row)}" for row in last]
    return f"Lately: {words.and_list(told)}."


def _rate(row: Row) -> str:
    share = words.share(row["nonconforming"], row["judged"])
    return f"{words.percent(row['nonconforming'] / row['judged'])} ({share})"


def _together(rows: Collection[Row]) -> Row:
    return {
        name: sum(row[name] for row in rows) for name in ("nonconforming", "judged")
    }
