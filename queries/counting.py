"""The SQL that counts a selection's checks from the tally, grouped by some keys.

Written for the question: only the keys and checks asked for stand in it. Binding and
planning an expression costs a tenth of a millisecond, and fourteen checks have
fifty-six counts; the tally is summed once, check beside check, and only then, of the
few sums, is a row a check made.

Whole months are read from the month tally where it has the keys; only the days of a
month that the dates asked for cut are read from the tally itself.
"""

from calendar import monthrange
from collections.abc import Sequence
from datetime import date

from queries.judgement import ANY_CHECK
from queries.selection import Selection
from queries.tally import ANCHOR_COUNTS, COUNTS

# A rate's keys, and where the tally has them.
TALLY_KEYS = {
    "site": "site_code",
    "crew": "crew_code",
    "anchor_size": "counted_day.anchor_size",
    "drill_method": "drill_method",
    "orientation": "orientation",
    "inspector": "inspector_code",
}
MONTH_TALLY_KEYS = {"site", "crew", "anchor_size", "month"}
# How far the periods of a key lie apart.
PERIODS = {"week": "interval 7 day", "month": "interval 1 month"}


def counts_sql(
    by: Sequence[str], check_names: Sequence[str], selection: Selection
) -> str:
    """Return SQL of the counts that the macro rate_of_count takes.

    Grain: one row per group of the keys `by`, period and check; keys that were not
    asked for are NULL. Named parameters: those of `selection`, NULL meaning all, of
    which only the dates shape the text. `check_names` may hold any_check. All names
    are this house's, never a reader's text. Weeks and months in which a group did
    nothing are in it.
    """
    counted = _unnested_sql(check_names, _wide_sql(by, check_names, selection))
    for period, step in PERIODS.items():
        if period in by:
            return f"""
with counted as ({counted})
select * from count_with_idle('counted', {step})"""
    return counted


def _wide_sql(
    by: Sequence[str], check_names: Sequence[str], selection: Selection
) -> str:
    """Return SQL of the counts summed by the keys, a column a check and count."""
    named = [
        f"{name}_{count}"
        for name in check_names
        for count in (ANCHOR_COUNTS if name == ANY_CHECK else COUNTS)
    ]
    by_month = set(by) <= MONTH_TALLY_KEYS
    source = _months_sql(named, selection) if by_month else "tally"
    keys = [
        f"{column if key in by else 'null::varchar'} as {key}"
        for key, column in TALLY_KEYS.items()
    ]
    periods = [f"date_trunc('{key}', installed_on)" for key in PERIODS if key in by]
    columns = [
        *keys,
        f"{periods[0] if periods else 'null'}::date as period_on",
        "sum(installations)::bigint as installations",
        *(f"sum({name}) as {name}" for name in named),
    ]
    return f"""
select {", ".join(columns)}
from {source} as counted_day
where
    ($from_on is null or installed_on >= $from_on::date)
    and ($to_on is null or installed_on <= $to_on::date)
    and ($site_codes is null or list_contains($site_codes, site_code))
    and ($crew_codes is null or list_contains($crew_codes, crew_code))
    and ($anchor_sizes is null or list_contains($anchor_sizes, counted_day.anchor_size))
group by {", ".join(str(place + 1) for place in range(len(keys) + 1))}"""


def _months_sql(counts: Sequence[str], selection: Selection) -> str:
    """Return SQL of the month tally, with the single days of months cut by dates.

    A month stands as its first day in installed_on, so that the filter on dates that
    follows keeps just the whole months.
    """
    columns = ", ".join(["site_code, crew_code, anchor_size, installations", *counts])
    months = f"select month_on as installed_on, {columns} from tally_month"
    whole = "true"
    cut = []
    if selection.from_on and selection.from_on.day > 1:
        cut.append(f"installed_on <= last_day({_literal(selection.from_on)})")
    if selection.to_on and not _ends_month(selection.to_on):
        last_month = _literal(selection.to_on.replace(day=1))
        whole = f"month_on < {last_month}"
        cut.append(f"installed_on >= {last_month}")
    if not cut:
        return f"({months})"
    return f"""(
    {months} where {whole}
    union all
    select installed_on, {columns} from tally where {" or ".join(cut)}
)"""


def _ends_month(day: date) -> bool:
    return day.day == monthrange(day.year, day.month)[1]


def _literal(day: date) -> str:
    return f"date '{day.isoformat()}'"


def _unnested_sql(check_names: Sequence[str], wide: str) -> str:
    """Return SQL with a row a check of what has a column a check and count."""
    names = ", ".join(f"'{name}'" for name in check_names)
    lists = [
        f"unnest([{', '.join(_count(name, count) for name in check_names)}])::bigint "
        f"as {count}"
        for count in ANCHOR_COUNTS
    ]
    return f"""
select
    {", ".join(TALLY_KEYS)}, period_on, installations,
    unnest([{names}]) as check_name,
    {", ".join(lists)}
from ({wide})"""


def _count(name: str, count: str) -> str:
    """Return one count of a check; of a single check, undecided is what is missing."""
    if count == "undecided" and name != ANY_CHECK:
        return f"{name}_unrecorded + {name}_unreadable"
    return f"{name}_{count}"
