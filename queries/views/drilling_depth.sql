-- Attempts by depth: what was drilled where (the support of a prediction), and where
-- attempts were given up. Grain: one row per site, size, bit diameter, method,
-- orientation and step of 5 mm of drilled depth. sum_depth_mm and sum_extra_mm (drilled
-- beyond the depth required) are of completed holes. Reads: timed_attempt.
create or replace view drilling_depth as
select
    site_code,
    anchor_size,
    diameter_mm,
    drill_diameter_mm,
    drill_method,
    orientation,
    5.0 * floor(hole_depth_mm / 5) as depth_from_mm,
    count(*) as attempts,
    count_if(is_abandoned)::bigint as abandoned,
    sum(hole_depth_mm) as drilled_mm,
    count_if(not is_abandoned)::bigint as completed,
    count_if(not is_abandoned and fate = 'used')::bigint as used,
    sum(hole_depth_mm - required_depth_mm) filter (where not is_abandoned)
        as sum_extra_mm
from timed_attempt
where hole_depth_mm > 0
group by all;
