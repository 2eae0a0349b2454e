-- Rates of a selection, grouped by any of the keys named in `by_keys`
-- ('site', 'crew', 'anchor_size', 'week', 'month', 'drill_method', 'orientation',
-- 'inspector'). Grain: one row per combination of those keys and check; a key that was
-- not asked for is NULL. Reads: tally_check, setting_data through anchor_size.
--
-- judged = conforming + nonconforming; rate = nonconforming / judged, NULL where
-- nothing was judged (never 0). Unrecorded and unreadable checks are in no rate: the
-- range of truth says what it could be if all of them conformed, or none did.
-- The check 'any_check' counts anchors: nonconforming in one check or more, of those
-- with one check or more judged. It is given only where it is asked for by name.
-- Weeks are ISO 8601 weeks of the site's own date. Weeks and months in which a group
-- did nothing stay, with nothing judged, between the first and last of the selection.
-- A NULL filter means all. by_keys, check_names and filters are constants to the
-- planner: a question about one check reads that check's columns only.
create or replace macro rate(
    by_keys, check_names, from_on, to_on, site_codes, crew_codes, anchor_sizes
) as table
    with selected as (
        select
            if(list_contains(by_keys, 'site'), site_code, null) as site,
            if(list_contains(by_keys, 'crew'), crew_code, null) as crew,
            if(list_contains(by_keys, 'anchor_size'), anchor_size, null) as anchor_size,
            if(list_contains(by_keys, 'drill_method'), drill_method, null)
                as drill_method,
            if(list_contains(by_keys, 'orientation'), orientation, null) as orientation,
            if(list_contains(by_keys, 'inspector'), inspector_code, null) as inspector,
            case
                when
                    list_contains(by_keys, 'week')
                    then date_trunc('week', installed_on)
                when
                    list_contains(by_keys, 'month')
                    then date_trunc('month', installed_on)
            end::date as period_on,
            check_name,
            installations,
            judged,
            nonconforming,
            unrecorded,
            unreadable,
            undecided
        from tally_check
        where
            (
                list_contains(check_names, check_name)
                or (check_names is null and check_name != 'any_check')
            )
            and (from_on is null or installed_on >= from_on::date)
            and (to_on is null or installed_on <= to_on::date)
            and (site_codes is null or list_contains(site_codes, site_code))
            and (crew_codes is null or list_contains(crew_codes, crew_code))
            and (
                anchor_sizes is null
                or list_contains(anchor_sizes, tally_check.anchor_size)
            )
    ),

    period as (
        select
            unnest(generate_series(
                min(period_on),
                max(period_on),
                if(list_contains(by_keys, 'week'), interval 7 day, interval 1 month)
            ))::date as period_on
        from selected
        where list_has_any(by_keys, ['week', 'month'])
    ),

    worked as (
        select distinct
            site,
            crew,
            anchor_size,
            drill_method,
            orientation,
            inspector,
            check_name
        from selected
        -- Planned away where no period was asked for.
        where list_has_any(by_keys, ['week', 'month'])
    ),

    -- A row of nothing for every period of every group, so that idle ones stay.
    idle as (
        select
            worked.*,
            period.period_on,
            0 as installations,
            0 as judged,
            0 as nonconforming,
            0 as unrecorded,
            0 as unreadable,
            0 as undecided
        from worked
        cross join period
    ),

    counted as (
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
            select * from selected
            union all by name
            select * from idle
        )
        group by
            site, crew, anchor_size, drill_method, orientation, inspector,
            period_on, check_name
    )

    select
        site,
        crew,
        counted.anchor_size,
        drill_method,
        orientation,
        inspector,
        if(list_contains(by_keys, 'week'), strftime(period_on, '%G-W%V'), null) as week,
        if(list_contains(by_keys, 'month'), strftime(period_on, '%Y-%m'), null)
            as month,
        check_name as "check",
        installations,
        judged,
        nonconforming,
        unrecorded,
        unreadable,
        installations - judged - unrecorded - unreadable as inapplicable,
        nonconforming / nullif(judged, 0) as rate,
        wilson_low(nonconforming, judged) as low,
        wilson_high(nonconforming, judged) as high,
        nonconforming / nullif(judged + unrecorded + unreadable, 0)
            as rate_if_unrecorded_conform,
        (nonconforming + undecided)
        / nullif(judged + unrecorded + unreadable, 0) as rate_if_unrecorded_not,
        size.diameter_mm
    from counted
    left join anchor_size as size on counted.anchor_size = size.anchor_size;
