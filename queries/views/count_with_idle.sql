-- Counted checks with the periods in which a group did nothing, so that idle ones stay
-- on the axis: between the first and the last of the whole relation, with nothing
-- judged. `counts` names a relation as rate_of_count takes it, `step` is how far its
-- periods lie apart. Grain: one row per group, check_name and period_on.
-- Reads: the relation it is given.
create or replace macro count_with_idle(counts, step) as table
    with worked as materialized (
        select * from query_table(counts)
    ),

    period as (
        select
            unnest(generate_series(min(period_on), max(period_on), step))::date
                as period_on
        from worked
    ),

    -- Each group once, before it meets every period: else a store of many years
    -- would pair all its periods with all.
    idle_group as (
        select distinct
            worked.* exclude (period_on) replace (
                0 as installations,
                0 as judged,
                0 as nonconforming,
                0 as unrecorded,
                0 as unreadable,
                0 as undecided
            )
        from worked
    ),

    idle as (
        select
            idle_group.*,
            period.period_on
        from idle_group
        cross join period
    )

    select
        site,
        crew,
        anchor_size,
        drill_method,
        orientation,
        inspector,
        period_on,
        check_name,
        sum(installations)::bigint as installations,
        sum(judged)::bigint as judged,
        sum(nonconforming)::bigint as nonconforming,
        sum(unrecorded)::bigint as unrecorded,
        sum(unreadable)::bigint as unreadable,
        sum(undecided)::bigint as undecided
    from (
        select * from worked
        union all by name
        select * from idle
    )
    group by all;
