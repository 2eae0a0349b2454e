-- Every anchor that was set and stamped with a time. Grain: one row per installation
-- with an instant that was not abandoned, of these batches (hashes of site, crew and
-- day, all between two days). Reads: installation.
--
-- "Before" is the anchor before of the batch (site, crew and day). A flag is NULL where
-- the row cannot show it. Anchors of one instant come in order of their drilling time,
-- so that counts are always the same: instant and drilling time are one number, as
-- sorting by one costs half of sorting by two.
create or replace macro batch_time(from_on, to_on, batch_keys) as table
    with stamped as (
        select
            hash(site_code, crew_code, installed_on) as batch_key,
            source_file_id,
            source_row,
            epoch_ms(installed_at) as at_ms,
            1000 * drill_s as drill_ms
        from installation
        where
            installed_at is not null
            and outcome is distinct from 'abandoned'
            and installed_on between from_on and to_on
            and hash(site_code, crew_code, installed_on) in (
                select unnest(batch_keys)
            )
    ),

    beside as (
        select
            batch_key,
            source_file_id,
            source_row,
            at_ms,
            drill_ms,
            lag(at_ms) over in_batch as before_ms,
            lead(at_ms) over in_batch is null as is_last,
            max(at_ms) over (partition by batch_key) as last_ms
        from stamped
        window in_batch as (
            partition by batch_key
            order by
                at_ms * 1048576
                + coalesce(least(drill_ms, 1048574)::bigint, 1048575),
                source_row::uinteger
        )
    )

    select
        batch_key,
        source_file_id,
        source_row,
        at_ms - before_ms < drill_ms as is_impossible_pace,
        -- The last itself shows nothing.
        if(is_last, null, at_ms >= last_ms - 600000) as is_stamped_late
    from beside;
