"""The tally: counts per day and group, kept by adding and subtracting rows.

One row per (installed_on, site, crew, anchor size, setting code, drill method,
orientation, inspector); per check the judged, nonconforming, unrecorded and
unreadable counts, and the same of anchors as any_check. Recounting whole site-days
would cost 19 s at 100 million rows where adding the difference costs 0.2 s.

The month tally sums it by (month, site, crew, anchor size) and is kept in the same
way: a question that asks no finer reads some ten to forty times fewer rows there.
"""

from collections.abc import Sequence

from queries.judgement import ANY_CHECK, CHECK_NAMES, MASKS

KEYS = (
    "installed_on",
    "site_code",
    "crew_code",
    "anchor_size",
    "setting_code",
    "drill_method",
    "orientation",
    "inspector_code",
)
MONTH_KEYS = ("month_on", "site_code", "crew_code", "anchor_size")
COUNTS = ("judged", "nonconforming", "unrecorded", "unreadable")

# An anchor is judged where one check or more of it is, and nonconforming where one or
# more is nonconforming. Undecided: not nonconforming, but an answer that is missing
# could make it so. That anchor may be judged; a check of it may not.
ANCHOR_COUNTS = {
    "judged": "(conforming_mask | nonconforming_mask) != 0",
    "nonconforming": "nonconforming_mask != 0",
    "unrecorded": "unrecorded_mask != 0 and (unreadable_mask | conforming_mask "
    "| nonconforming_mask) = 0",
    "unreadable": "unreadable_mask != 0 and (conforming_mask | nonconforming_mask) = 0",
    "undecided": "(unrecorded_mask | unreadable_mask) != 0 and nonconforming_mask = 0",
}


def count_columns() -> tuple[str, ...]:
    """Return the names of all count columns, `installations` first."""
    return (
        "installations",
        *(f"{name}_{count}" for name in CHECK_NAMES for count in COUNTS),
        *(f"{ANY_CHECK}_{count}" for count in ANCHOR_COUNTS),
    )


def create_tally_sql() -> str:
    """Return the statements that create the empty tally and month tally."""
    return ";\n".join(
        _create_sql(table, keys)
        for table, keys in (("tally", KEYS), ("tally_month", MONTH_KEYS))
    )


def _create_sql(table: str, table_keys: Sequence[str]) -> str:
    keys = [
        f"{key} {'date' if key.endswith('_on') else 'varchar'}"
        + (" not null" if position < 5 else "")
        for position, key in enumerate(table_keys)
    ]
    counts = [f"{name} integer not null" for name in count_columns()]
    columns = ",\n    ".join(keys + counts)
    return f"create table {table} (\n    {columns}\n)"


def by_month_sql(counted: str) -> str:
    """Return SQL that sums a relation with the tally's columns by MONTH_KEYS."""
    sums = ",\n    ".join(f"sum({name})::integer as {name}" for name in count_columns())
    return f"""
select
    {_MONTH},
    {sums}
from {counted}
group by all"""


def month_keys_sql(counted: str) -> str:
    """Return SQL of the MONTH_KEYS of a relation with the tally's columns."""
    return f"select {_MONTH} from {counted}"


_MONTH = ", ".join(
    ("date_trunc('month', installed_on)::date as month_on", *MONTH_KEYS[1:])
)


def counted_sql(installations: str, *, sign: str = "") -> str:
    """Return SQL that counts a relation of judged installations by the tally's keys.

    `sign` names a column of 1 and -1 by which a row counts; without it all count 1.
    """
    keys = ", ".join(KEYS)
    conditions = {"installations": "true"} | {
        f"{name}_{count}": condition
        for name, counts in _conditions().items()
        for count, condition in counts.items()
    }
    counts = ",\n    ".join(
        f"{_count_sql(condition, sign)}::integer as {name}"
        for name, condition in conditions.items()
    )
    return f"""
select
    {keys},
    {counts}
from {installations}
inner join (select setting_code, anchor_size from setting_data) using (setting_code)
group by {keys}"""


def _count_sql(condition: str, sign: str) -> str:
    # Counting takes DuckDB two thirds of the time of adding ones. Doubles are added
    # faster than integers, whose sums are of 128 bits, and are exact to 2^53.
    return f"sum(if({condition}, {sign}, 0.0))" if sign else f"count_if({condition})"


def _conditions() -> dict[str, dict[str, str]]:
    """Return when a row counts, for every check and for any_check."""
    checks = {
        name: {count: f"{mask} & {1 << bit} != 0" for count, mask in _MASK_OF.items()}
        for bit, name in enumerate(CHECK_NAMES)
    }
    return checks | {ANY_CHECK: ANCHOR_COUNTS}


_MASK_OF = {
    "judged": "(conforming_mask | nonconforming_mask)",
    "nonconforming": "nonconforming_mask",
    "unrecorded": "unrecorded_mask",
    "unreadable": "unreadable_mask",
}


def signed_sql(added: Sequence[str], removed: Sequence[str]) -> str:
    """Return SQL of what is counted of relations of installations, with tally_sign.

    tally_sign is 1 for the rows of `added`, -1 for those of `removed`.
    """
    selects = " union all by name ".join(
        f"select {_COUNTED}, {sign}::double as tally_sign from {rows}"
        for relations, sign in ((added, 1), (removed, -1))
        for rows in relations
    )
    return f"({selects})"


# What is read of an installation to count it; its size comes from the setting data.
_COUNTED = ", ".join((*(key for key in KEYS if key != "anchor_size"), *MASKS))


def tally_check_sql() -> str:
    """Return the view with one row a tally row and check, any_check among them.

    A branch a check, so that a question about one check reads only its four columns:
    the others are pruned when the statement is planned.
    """
    keys = ", ".join(KEYS)
    branches = [
        f"select {keys}, '{name}' as check_name, installations, "
        + ", ".join(f"{name}_{count} as {count}" for count in COUNTS)
        + f", {undecided} as undecided from tally"
        for name, undecided in [
            *((name, f"{name}_unrecorded + {name}_unreadable") for name in CHECK_NAMES),
            (ANY_CHECK, f"{ANY_CHECK}_undecided"),
        ]
    ]
    return "create or replace view tally_check as\n" + "\nunion all\n".join(branches)
