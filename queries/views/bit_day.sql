-- How much a bit had drilled, by day. Grain: one row per site, bit and day. bit_m:
-- metres before the day and half of the day's (the order within a day need not be
-- known), at most 60; NULL for the first bit that a crew shows of a diameter, which may
-- have been used before, unless the bit sheet says that it was new then. A hole without
-- a depth counts with the one required; holes logged without a bit are in no sum.
-- Reads: installation, setting_data, bit.
create or replace view bit_day as
with drilled as (
    select
        logged.site_code,
        logged.bit_code,
        logged.installed_on,
        any_value(logged.crew_code) as crew_code,
        any_value(required.drill_diameter_mm) as drill_diameter_mm,
        sum(coalesce(logged.hole_depth_mm, required.hole_depth_mm)) / 1000 as day_m
    from installation as logged
    inner join setting_data as required
        on logged.setting_code = required.setting_code
    where logged.bit_code is not null
    group by logged.site_code, logged.bit_code, logged.installed_on
),

summed as (
    select
        *,
        sum(day_m) over (
            partition by site_code, bit_code order by installed_on
        ) - day_m / 2 as until_m,
        min(installed_on) over (
            partition by site_code, bit_code
        ) as bit_from_on,
        first_value(bit_code) over (
            partition by site_code, crew_code, drill_diameter_mm
            order by installed_on, bit_code
        ) as first_bit_code
    from drilled
)

select
    summed.site_code,
    summed.bit_code,
    summed.installed_on,
    if(
        summed.bit_code != summed.first_bit_code
        or summed.bit_from_on <= bit.first_used_on,
        least(summed.until_m, 60), null
    ) as bit_m
from summed
left join bit on summed.bit_code = bit.bit_code;
