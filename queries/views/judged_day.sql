-- Judged and nonconforming of one check by day, for a group of sites, crews or sizes.
-- Grain: one row per group and day with anything judged; by_key 'site', 'crew',
-- 'anchor_size', or anything else for all together (group_name ''). Days are the
-- site's own. A NULL filter means all. Reads: tally_check.
--
-- Bad days: what differs from day to day within a group is the yardstick for what
-- differs between groups and periods.
create or replace macro judged_day(
    by_key, one_check, from_on, to_on, site_codes, crew_codes, anchor_sizes
) as table
    select
        case by_key
            when 'site' then site_code
            when 'crew' then crew_code
            when 'anchor_size' then tally_check.anchor_size
            else ''
        end as group_name,
        installed_on,
        sum(judged)::bigint as judged,
        sum(nonconforming)::bigint as nonconforming
    from tally_check
    where
        check_name = one_check
        and (from_on is null or installed_on >= from_on::date)
        and (to_on is null or installed_on <= to_on::date)
        and (site_codes is null or list_contains(site_codes, site_code))
        and (crew_codes is null or list_contains(crew_codes, crew_code))
        and (
            anchor_sizes is null
            or list_contains(anchor_sizes, tally_check.anchor_size)
        )
    group by all
    having sum(judged) > 0;
