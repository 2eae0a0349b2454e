-- Attempts by depth and by what became of their time: what was drilled where (the
-- support of a prediction), and where attempts were given up. Grain: one row per site,
-- size, bit diameter, method, orientation, step of 5 mm of drilled depth (NULL without
-- one) and fate. drilled_mm is of all attempts, sum_extra_mm (drilled beyond the depth
-- required) of completed ones; over_limit: faster than 25 mm/s, whatever became of
-- them. Reads: timed_attempt.
create or replace view drilling_depth as
select
    site_code,
    anchor_size,
    diameter_mm,
    drill_diameter_mm,
    drill_method,
    orientation,
    if(hole_depth_mm > 0, 5.0 * floor(hole_depth_mm / 5), null) as depth_from_mm,
    fate,
    count(*) as attempts,
    count_if(is_abandoned)::bigint as abandoned,
    sum(hole_depth_mm) as drilled_mm,
    sum(hole_depth_mm - required_depth_mm) filter (where not is_abandoned)
        as sum_extra_mm,
    count_if(is_over_limit)::bigint as over_limit
from timed_attempt
group by all;
