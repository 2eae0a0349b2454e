-- Drilling time against hole depth of a selection, in steps of 10 mm of drilled depth.
-- Grain: one row per anchor_size, drill_method and step. Times (s) are of timed
-- attempts, completed or not; attempts without a depth are in no step (the summary
-- counts them). A NULL filter means all. Reads: drilled_hole.
create or replace macro drilling_by_depth(
    from_on, to_on, site_codes, crew_codes, anchor_sizes
) as table
    select
        * exclude (times_s),
        -- One list of the times for all three: quantiles would each collect them.
        times_s[1] as p10_s,
        times_s[2] as p50_s,
        times_s[3] as p90_s
    from (
        select
            anchor_size,
            diameter_mm,
            drill_method,
            10.0 * floor(hole_depth_mm / 10) as depth_from_mm,
            10.0 * floor(hole_depth_mm / 10) + 10 as depth_to_mm,
            count(*) as attempts,
            count_if(is_abandoned)::bigint as abandoned,
            count(drill_s) as timed_holes,
            quantile_cont(drill_s, [0.1, 0.5, 0.9]) as times_s
        from drilled_hole
        where
            hole_depth_mm > 0
            and (from_on is null or installed_on >= from_on::date)
            and (to_on is null or installed_on <= to_on::date)
            and (site_codes is null or list_contains(site_codes, site_code))
            and (crew_codes is null or list_contains(crew_codes, crew_code))
            and (
                anchor_sizes is null
                or list_contains(anchor_sizes, drilled_hole.anchor_size)
            )
        group by anchor_size, diameter_mm, drill_method, floor(hole_depth_mm / 10)
    );
