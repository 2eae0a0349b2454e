"""Counts that a store keeps, and what the rows give: proved to be the same."""

from collections.abc import Sequence
from dataclasses import dataclass

from queries.tally import (
    KEYS,
    MONTH_KEYS,
    by_month_sql,
    count_columns,
    counted_sql,
)

BATCH_KEYS = ("site_code", "crew_code", "installed_on")
GAUGE_KEYS = (*BATCH_KEYS, "setting_code", "wrench_code")
TIME_COUNTS = ("stamped", "may_pace", "impossible_pace", "may_stamp", "stamped_late")
TORQUE_COUNTS = (
    "torques",
    "outside",
    "at_edge",
    "may_repeat_torque",
    "repeat_torque",
    "may_repeat_record",
    "repeat_record",
    "inside",
)
STEPS = 13  # of reading_step


@dataclass(frozen=True)
class KeptCounts:
    """One table of counts: relations of what it holds and of what it should hold.

    Both with the columns `keys` and `counts`; either may name $from_on, $to_on and
    $batch_keys, and is then of the batches of one part (queries/batch_parts.py).
    """

    name: str
    title: str
    kept: str
    rebuilt: str
    keys: Sequence[str]
    counts: Sequence[str]


def kept_counts() -> tuple[KeptCounts, ...]:
    """Return every table of counts that loads keep."""
    return (
        KeptCounts(
            "tally_rebuilt",
            "The tally equals a count of all rows",
            "tally",
            f"({counted_sql('installation')})",
            KEYS,
            count_columns(),
        ),
        KeptCounts(
            "tally_month_rebuilt",
            "The month tally equals the sums of the tally",
            "tally_month",
            f"({by_month_sql('tally')})",
            MONTH_KEYS,
            count_columns(),
        ),
        KeptCounts(
            "batch_rebuilt",
            "The counts of torques and repeats of every batch equal those of its rows",
            _flat(f"(from batch_tally where {_IN_PART})"),
            _flat("batch_count($from_on, $to_on, $batch_keys)"),
            GAUGE_KEYS,
            (*TORQUE_COUNTS, *_STEP_NAMES, *_MEASURES),
        ),
        KeptCounts(
            "batch_time_rebuilt",
            "The counts of times of every batch equal those of its rows",
            f"(from batch_time_tally where {_IN_PART})",
            "batch_time_count($from_on, $to_on, $batch_keys)",
            BATCH_KEYS,
            TIME_COUNTS,
        ),
    )


_IN_PART = (
    "installed_on between $from_on and $to_on and hash(site_code, crew_code, "
    "installed_on) in (select unnest($batch_keys))"
)
_STEP_NAMES = [f"on_step_{place}" for place in range(1, STEPS + 1)]
# In whole billionths: sums of doubles depend on their order by less.
_MEASURES = ("place_mean_billionths", "square_sum_billionths")


def _flat(batches: str) -> str:
    """Return a relation of batch_count's columns with numbers only."""
    steps = ", ".join(
        f"on_step[{place}] as {name}" for place, name in enumerate(_STEP_NAMES, start=1)
    )
    measures = ", ".join(
        f"round(1e9 * coalesce({name.removesuffix('_billionths')}, 0))::bigint "
        f"as {name}"
        for name in _MEASURES
    )
    return (
        f"(select {', '.join((*GAUGE_KEYS, *TORQUE_COUNTS))}, {steps}, {measures} "
        f"from {batches})"
    )


def kept_proof_sql(one: KeptCounts) -> str:
    """Return SQL of subject, found and expected where the two relations differ."""
    columns = ", ".join((*one.keys, *one.counts))
    kept = f"select {columns} from {one.kept}"
    rebuilt = f"select {columns} from {one.rebuilt}"
    keys = ", ".join(one.keys)
    key = " || ' ' || ".join(f"coalesce({key}::varchar, '-')" for key in one.keys)
    # Counts as rows: a statement with an expression a count takes longer to plan than
    # a small store takes to read.
    return f"""
        select
            {key} as subject,
            {_counts_sql("found")} as found,
            {_counts_sql("expected")} as expected
        from (
            select
                {keys}, name,
                coalesce(sum(count) filter (is_kept), 0) as found,
                coalesce(sum(count) filter (not is_kept), 0) as expected
            from (
                unpivot (
                    select *, true as is_kept from ({kept} except all {rebuilt})
                    union all
                    select *, false as is_kept from ({rebuilt} except all {kept})
                )
                on {", ".join(f"{name}::bigint as {name}" for name in one.counts)}
                into name name value count
            )
            group by {keys}, name
        )
        group by {keys}
        """


def _counts_sql(side: str) -> str:
    """Return the counts that differ, by their names, on one side."""
    return (
        f"coalesce(string_agg(replace(name, '_', ' ') || ' ' || {side}, ', ' "
        "order by name) filter (found != expected), 'the same counts in other rows')"
    )
