-- How fast holes are drilled, to tell what cannot be. Grain: one row per bit diameter
-- and method. median_mm_s: the median speed, from counts in steps of 5 %, which is near
-- enough for a limit at 3 times it. Reads: installation, setting_data.
create or replace view drilling_speed as
with counted as (
    select
        required.drill_diameter_mm,
        coalesce(logged.drill_method, 'not recorded') as drill_method,
        floor(20 * ln(logged.hole_depth_mm / logged.drill_s))::integer as step,
        count(*) as n
    from installation as logged
    inner join setting_data as required
        on logged.setting_code = required.setting_code
    where logged.drill_s > 0 and logged.hole_depth_mm > 0
    group by all
),

reached as (
    select
        drill_diameter_mm,
        drill_method,
        step,
        sum(n) over (
            partition by drill_diameter_mm, drill_method order by step
        ) as until,
        sum(n) over (partition by drill_diameter_mm, drill_method) as total
    from counted
)

select
    drill_diameter_mm,
    drill_method,
    exp((min(step) + 0.5) / 20) as median_mm_s
from reached
where 2 * until >= total
group by drill_diameter_mm, drill_method;
