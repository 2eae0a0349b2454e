-- What the signs of batch_sign in times are counted from: what batch_time_tally holds.
-- Grain: one row per batch (site, crew and day) with an anchor that was stamped, of the
-- batches that batch_time takes. Reads: batch_time, tally.
create or replace macro batch_time_count(from_on, to_on, batch_keys) as table
    with counted as (
        select
            batch_key,
            count(*)::integer as stamped,
            count(is_impossible_pace)::integer as may_pace,
            coalesce(count_if(is_impossible_pace), 0)::integer as impossible_pace,
            count(is_stamped_late)::integer as may_stamp,
            coalesce(count_if(is_stamped_late), 0)::integer as stamped_late
        from batch_time(from_on, to_on, batch_keys)
        group by batch_key
    ),

    batch as (
        select distinct
            site_code,
            crew_code,
            installed_on
        from tally
        where installed_on between from_on and to_on
    )

    select
        batch.site_code,
        batch.crew_code,
        batch.installed_on,
        counted.* exclude (batch_key)
    from counted
    inner join batch
        on
            counted.batch_key
            = hash(batch.site_code, batch.crew_code, batch.installed_on);
