-- Rates of a selection, grouped by any of the keys named in `by_keys`
-- ('site', 'crew', 'anchor_size', 'week', 'month', 'drill_method', 'orientation',
-- 'inspector'). Grain: one row per combination of those keys and check; a key that was
-- not asked for is NULL. Reads: tally_check, and setting_data through anchor_size;
-- rate_of_count defines every figure, count_with_idle which periods stay.
--
-- The check 'any_check' counts anchors: nonconforming in one check or more, of those
-- with one check or more judged. It is given only where it is asked for by name.
-- Weeks and months in which a group did nothing stay, between the first and last of
-- the selection. A NULL filter means all.
--
-- For the rates of all data (site_rate and its like) and for questions typed by hand.
-- The readers count by queries/counting.py, which plans only the checks asked for.
-- The macros are given the names of what they read.
create or replace macro rate(
    by_keys, check_names, from_on, to_on, site_codes, crew_codes, anchor_sizes
) as table
    with counted as (  -- noqa: ST03
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
            sum(installations)::bigint as installations,
            sum(judged)::bigint as judged,
            sum(nonconforming)::bigint as nonconforming,
            sum(unrecorded)::bigint as unrecorded,
            sum(unreadable)::bigint as unreadable,
            sum(undecided)::bigint as undecided
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
        group by all
    ),

    complete as (  -- noqa: ST03
        select *
        from
            count_with_idle(
                'counted',
                if(list_contains(by_keys, 'week'), interval 7 day, interval 1 month)
            )
    )

    select
        rated.*,  -- noqa: AM04
        size.diameter_mm
    from rate_of_count('complete', by_keys) as rated
    left join anchor_size as size on rated.anchor_size = size.anchor_size;
