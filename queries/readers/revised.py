"""What revisions changed: the first entries of records beside those in force."""

from collections.abc import Sequence
from dataclasses import replace

import duckdb
import polars as pl

from queries.frames import read_frame
from queries.judgement import (
    ANY_CHECK,
    CHECK_NAMES,
    JUDGED_NAMES,
    RATE_NAMES,
    judgement_sql,
)
from queries.readers.rates import read_rates, require_known
from queries.selection import Selection
from queries.wrench_use import BIT as WRENCH_BIT

KEYS = {"site": "site_code", "crew": "crew_code"}
FEWEST_MENDED = 5
MUCH = 0.1
# What a verdict of one check became, by the verdicts before and after.
CHANGES = {
    "mended": ("nonconforming", "conforming"),
    "worsened": ("conforming", "nonconforming"),
    "answered": ("none", "any"),
    "withdrawn": ("any", "none"),
}


def read_revised(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Return the revised records of an edition, a row each, with verdicts in bits.

    Columns: site_code, record_id, and of the entry in force crew_code, anchor_size,
    installed_on, revision, conforming and nonconforming (masks: a bit a check); then
    first_conforming and first_nonconforming, of the first entry by today's setting
    data. The bit of torque_tool is that of the entry in force: how often a wrench was
    used depends on other rows.
    """
    logged = f"""(
        select distinct on (site_code, record_id) * exclude ({", ".join(JUDGED_NAMES)})
        from superseded_installation
        order by site_code, record_id, revision
    )"""

    def first(verdict: str) -> str:
        mask = f"{verdict}_mask"
        # Without calibrations no entry is judged by torque_tool.
        return f"judged_first.{mask} | (in_force.{mask} & {WRENCH_BIT}::uinteger)"

    return read_frame(
        con,
        f"""
        with judged_first as ({judgement_sql(logged, with_calibrations=False)})

        select
            in_force.site_code, in_force.record_id, in_force.crew_code, anchor_size,
            in_force.installed_on, in_force.revision,
            in_force.conforming_mask as conforming,
            in_force.nonconforming_mask as nonconforming,
            {first("conforming")} as first_conforming,
            {first("nonconforming")} as first_nonconforming
        from judged_first
        inner join installation as in_force
            on
                judged_first.record_hash = in_force.record_hash
                and judged_first.site_code = in_force.site_code
                and judged_first.record_id = in_force.record_id
        inner join setting_data on in_force.setting_code = setting_data.setting_code
        order by in_force.site_code, in_force.record_id
        """,
    )


def changed_records(
    revised: pl.DataFrame, selection: Selection, check_name: str
) -> pl.DataFrame:
    """Return the revised records of a selection with what the check's verdict became.

    `revised` as read_revised returns it. Adds first and now ("conforming",
    "nonconforming", or "none" where it is not judged) and change, of CHANGES, null
    where the verdict stayed. The selection is of entries in force. FirmsetError for an
    unknown check.
    """
    require_known("check", [check_name], RATE_NAMES)
    first = _verdict("first_", check_name)
    now = _verdict("", check_name)
    change = pl.coalesce(
        pl.when(_is(pl.col("first"), before) & _is(pl.col("now"), after)).then(
            pl.lit(name)
        )
        for name, (before, after) in CHANGES.items()
    )
    return (
        revised.filter(*_chosen(selection))
        .with_columns(first=first, now=now)
        .with_columns(change=change)
        .select(
            *("site_code", "record_id", "revision", "crew_code", "anchor_size"),
            *("installed_on", "first", "now", "change"),
        )
    )


def read_much_mended(
    con: duckdb.DuckDBPyConnection,
    selection: Selection,
    revised: pl.DataFrame,
    check_names: Sequence[str] = CHECK_NAMES,
) -> pl.DataFrame:
    """Return the sites' checks of which revisions took much of what was nonconforming.

    Columns of read_first_rates and check, a row a site and check: FEWEST_MENDED
    verdicts or more, and of what was nonconforming as first logged MUCH (project
    defaults). The most mended first; without any, no columns.
    """
    by_site = revised.filter(*_chosen(selection)).group_by("site_code").agg(_mended())
    found = [
        read_first_rates(con, "site", selection, name, revised)
        .filter(
            pl.col("mended") >= FEWEST_MENDED,
            pl.col("mended") >= MUCH * pl.col("first_nonconforming"),
        )
        .with_columns(check=pl.lit(name))
        for name in check_names
        # Counted first: the rates of a check take ten times as long.
        if by_site.filter(pl.col(name) >= FEWEST_MENDED).height
    ]
    if not found:
        return pl.DataFrame()
    return pl.concat(found).sort("mended", descending=True, maintain_order=True)


def mended_by_check(revised: pl.DataFrame, selection: Selection) -> dict[str, int]:
    """Return how many verdicts of each check are mended, those with any, most first."""
    [counts] = revised.filter(*_chosen(selection)).select(_mended()).to_dicts()
    ordered = sorted(counts.items(), key=lambda item: -item[1])
    return {name: number for name, number in ordered if number}


def _mended() -> list[pl.Expr]:
    """Return, by check, how many records were nonconforming first and conform now."""
    mended = pl.col("first_nonconforming") & pl.col("conforming")
    return [
        (mended & (1 << position) != 0).sum().alias(name)
        for position, name in enumerate(CHECK_NAMES)
    ]


def _verdict(of: str, check_name: str) -> pl.Expr:
    """Return the verdict of a check in words; of any check as views/ count anchors."""

    def has(verdict: str) -> pl.Expr:
        mask = pl.col(f"{of}{verdict}")
        if check_name == ANY_CHECK:
            return mask != 0
        return mask & (1 << CHECK_NAMES.index(check_name)) != 0

    return (
        pl.when(has("nonconforming"))
        .then(pl.lit("nonconforming"))
        .when(has("conforming"))
        .then(pl.lit("conforming"))
        .otherwise(pl.lit("none"))
    )


def _is(verdict: pl.Expr, expected: str) -> pl.Expr:
    return verdict != "none" if expected == "any" else verdict == expected


def _chosen(selection: Selection) -> list[pl.Expr]:
    chosen = []
    if selection.from_on:
        chosen.append(pl.col("installed_on") >= selection.from_on)
    if selection.to_on:
        chosen.append(pl.col("installed_on") <= selection.to_on)
    for column, codes in (
        ("site_code", selection.site_codes),
        ("crew_code", selection.crew_codes),
        ("anchor_size", selection.anchor_sizes),
    ):
        if codes:
            chosen.append(pl.col(column).is_in(list(codes)))
    return chosen or [pl.lit(True)]


def read_first_rates(
    con: duckdb.DuckDBPyConnection,
    by: str,
    selection: Selection,
    check_name: str,
    revised: pl.DataFrame,
) -> pl.DataFrame:
    """Return each site's or crew's rate of a check as first logged, beside the present.

    `by`: "site" or "crew"; `revised` as read_revised returns it. A row a group with a
    revised record in the selection: group, revised (records), mended, worsened,
    answered, withdrawn (verdicts that became another, CHANGES), first_judged,
    first_nonconforming, first_rate (fraction, null where nothing was judged), judged,
    nonconforming, rate. The most mended first. A record that came with its first
    entry only counts as that. FirmsetError for an unknown check.
    """
    records = changed_records(revised, selection, check_name)
    counts = records.group_by(pl.col(KEYS[by]).alias("group")).agg(
        pl.len().alias("revised"),
        *((pl.col("change") == name).sum().alias(name) for name in CHANGES),
        (pl.col("first") == "nonconforming").sum().alias("was"),
        (pl.col("now") == "nonconforming").sum().alias("is"),
    )
    rates = read_rates(con, [by], replace(selection, check_names=(check_name,)))
    return (
        counts.join(
            rates.select(pl.col(by).alias("group"), "judged", "nonconforming", "rate"),
            on="group",
        )
        .with_columns(
            first_judged=pl.col("judged") - pl.col("answered") + pl.col("withdrawn"),
            first_nonconforming=pl.col("nonconforming") - pl.col("is") + pl.col("was"),
        )
        .with_columns(
            first_rate=pl.when(pl.col("first_judged") > 0).then(
                pl.col("first_nonconforming") / pl.col("first_judged")
            )
        )
        .sort(["mended", "revised", "group"], descending=[True, True, False])
        .select(
            *("group", "revised", *CHANGES, "first_judged", "first_nonconforming"),
            *("first_rate", "judged", "nonconforming", "rate"),
        )
    )
