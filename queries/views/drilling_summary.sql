-- Drilling of a selection by size and method. Grain: one row per anchor_size and
-- drill_method. s_per_good_hole (s) = all timed seconds, those of abandoned attempts
-- included, per timed hole that was kept: a mean of completed holes only
-- (completed_mean_s) would understate what a good hole costs. Untimed attempts are
-- counted, and are in no time. cleaning_s and setting_s are means of the anchors that
-- have one logged. A NULL filter means all. Reads: drilled_hole.
create or replace macro drilling_summary(
    from_on, to_on, site_codes, crew_codes, anchor_sizes
) as table
    select
        * exclude (times_s),
        -- One list of the times for both: two quantiles would collect them twice.
        times_s[1] as p50_s,
        times_s[2] as p80_s
    from (
        select
            anchor_size,
            diameter_mm,
            drill_method,
            count(*) as attempts,
            count_if(is_abandoned)::bigint as abandoned,
            count_if(is_abandoned) / nullif(count(*), 0) as abandoned_rate,
            count_if(not is_abandoned)::bigint as good_holes,
            count(drill_s) as timed_attempts,
            count(*) - count(drill_s) as untimed_attempts,
            quantile_cont(hole_depth_mm, 0.5) as median_depth_mm,
            quantile_cont(drill_s, [0.5, 0.8]) as times_s,
            count(drill_s) filter (where not is_abandoned) as completed_timed,
            avg(drill_s) filter (where not is_abandoned) as completed_mean_s,
            sum(drill_s) / nullif(completed_timed, 0) as s_per_good_hole,
            avg(cleaning_s) as cleaning_s,
            count(cleaning_s) as cleaning_timed,
            avg(setting_s) as setting_s,
            count(setting_s) as setting_timed
        from drilled_hole
        where
            (from_on is null or installed_on >= from_on::date)
            and (to_on is null or installed_on <= to_on::date)
            and (site_codes is null or list_contains(site_codes, site_code))
            and (crew_codes is null or list_contains(crew_codes, crew_code))
            and (
                anchor_sizes is null
                or list_contains(anchor_sizes, drilled_hole.anchor_size)
            )
        group by anchor_size, diameter_mm, drill_method
    );
