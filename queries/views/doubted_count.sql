-- What the tally holds of the batches given, by any of the keys of `rate` and check.
-- Grain: one row per combination of the keys named in by_keys and check; a key not
-- asked for is NULL. Reads: tally_check. Filters as in `rate`.
--
-- The batches are three lists of one length: site, crew and day of each.
create or replace macro doubted_count(
    by_keys,
    check_names,
    from_on,
    to_on,
    site_codes,
    crew_codes,
    anchor_sizes,
    batch_sites,
    batch_crews,
    batch_days
) as table
    with batch as (
        select
            unnest(batch_sites)::varchar as site_code,
            unnest(batch_crews)::varchar as crew_code,
            unnest(batch_days)::date as installed_on
    )

    select
        if(list_contains(by_keys, 'site'), tally_check.site_code, null) as site,
        if(list_contains(by_keys, 'crew'), tally_check.crew_code, null) as crew,
        if(list_contains(by_keys, 'anchor_size'), tally_check.anchor_size, null)
            as anchor_size,
        if(
            list_contains(by_keys, 'week'),
            strftime(tally_check.installed_on, '%G-W%V'),
            null
        ) as week,
        if(
            list_contains(by_keys, 'month'),
            strftime(tally_check.installed_on, '%Y-%m'),
            null
        ) as month,
        if(list_contains(by_keys, 'drill_method'), drill_method, null) as drill_method,
        if(list_contains(by_keys, 'orientation'), orientation, null) as orientation,
        if(list_contains(by_keys, 'inspector'), inspector_code, null) as inspector,
        check_name as "check",
        sum(judged)::bigint as doubted_judged,
        sum(nonconforming)::bigint as doubted_nonconforming,
        sum(undecided)::bigint as doubted_undecided,
        sum(judged + unrecorded + unreadable)::bigint as doubted_due
    from tally_check
    inner join batch
        on
            tally_check.site_code = batch.site_code
            and tally_check.crew_code = batch.crew_code
            and tally_check.installed_on = batch.installed_on
    where
        list_contains(check_names, check_name)
        and (from_on is null or tally_check.installed_on >= from_on::date)
        and (to_on is null or tally_check.installed_on <= to_on::date)
        and (site_codes is null or list_contains(site_codes, tally_check.site_code))
        and (crew_codes is null or list_contains(crew_codes, tally_check.crew_code))
        and (
            anchor_sizes is null
            or list_contains(anchor_sizes, tally_check.anchor_size)
        )
    group by all;
