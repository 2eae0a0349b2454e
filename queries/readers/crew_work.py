"""Where listed crews worked, what they are called, and what was not answered."""

from dataclasses import replace

import duckdb
import polars as pl

from queries.frames import read_frame
from queries.readers.evidence import read_crew_sums
from queries.selection import Selection

ANSWERLESS = ("unrecorded", "unreadable")


def add_work(
    con: duckdb.DuckDBPyConnection, pairs: pl.DataFrame, within: Selection
) -> pl.DataFrame:
    """Add to rows of crew and check (columns of these names), in their order:

    missing, the crew's checks due without an answer within the selection; site_codes,
    the sites at which it worked (list); crew_name, null where no sheet names it.
    """
    checks = sorted(set(pairs["check"]))
    counts = [f"{name}_{count}" for name in checks for count in ANSWERLESS]
    listed = replace(within, crew_codes=tuple(sorted(set(pairs["crew"]))))
    sums = read_crew_sums(con, ("site_code",), counts, listed)
    sites = sums.group_by("crew_code").agg(pl.col("site_code").alias("site_codes"))
    missing = [
        sums.group_by("crew_code").agg(
            pl.lit(name).alias("check"),
            pl.sum_horizontal(
                pl.col(f"{name}_{count}").sum() for count in ANSWERLESS
            ).alias("missing"),
        )
        for name in checks
    ]
    names = read_frame(
        con,
        """
        select crew_code, any_value(crew_name order by crew_name) as crew_name
        from crew
        where list_contains($crew_codes, crew_code)
        group by crew_code
        """,
        {"crew_codes": list(listed.crew_codes)},
    )
    found = pairs
    none: dict[str, type[pl.DataType]] = {
        "crew_code": pl.String,
        "check": pl.String,
        "missing": pl.Int64,
    }
    for frame, keys in (
        (pl.concat([pl.DataFrame(schema=none), *missing]), ["check"]),
        (sites, []),
        (names, []),
    ):
        found = found.join(
            frame.rename({"crew_code": "crew"}),
            on=["crew", *keys],
            how="left",
            maintain_order="left",
        )
    return found
