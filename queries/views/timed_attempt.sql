-- Every attempt to drill, whether its time can be used, and what decides the time.
-- Grain: one row per installation, abandoned attempts included. Reads: installation,
-- requirement, drilling_step, drilling_speed, doubtful_crew_day.
--
-- fate, the first that holds:
--   no_depth    no depth logged
--   untimed     no time logged
--   zero        a time of 0 s
--   shared      half or more of the times of a crew's day and setting are 0: the others
--               may be the time of several holes (triggered once for all)
--   copied      five or more times (twenty where the site writes whole seconds or
--               coarser) of a crew's day and setting, all the same
--   too_fast    more than 25 mm/s and more than 3 times the median speed of its bit
--               diameter and method. 25 mm/s alone (is_over_limit) would cut off the
--               fast end of small holes, and with it bias all that is fitted
--   too_coarse  the site rounds to a step of more than half the time that a hole as
--               deep takes at that median speed
--   used        all else
-- is_worn: logged as worn, or measured thinner than the check of the bit allows.
-- step_s is the width of the interval that a rounded time stands for (0: as written,
-- also for a time off the step to which its site rounds: 4 s among tens of seconds).
create or replace view timed_attempt as
with attempt as (
    select
        logged.site_code,
        logged.crew_code,
        logged.installed_on,
        logged.setting_code,
        required.anchor_size,
        required.diameter_mm,
        required.drill_diameter_mm,
        required.hole_depth_mm as required_depth_mm,
        coalesce(logged.drill_method, 'not recorded') as drill_method,
        coalesce(logged.orientation, 'not recorded') as orientation,
        logged.hole_depth_mm,
        if(logged.concrete_mpa > 0, logged.concrete_mpa, null) as concrete_mpa,
        coalesce(logged.outcome = 'abandoned', false) as is_abandoned,
        coalesce(
            logged.rebar_hit and coalesce(logged.outcome, '') != 'abandoned', false
        ) as is_through_rebar,
        coalesce(
            logged.bit_worn
            or not reaches(logged.bit_diameter_mm, required.smallest_bit_mm),
            false
        ) as is_worn,
        logged.bit_code,
        logged.drill_s
    from installation as logged
    inner join requirement as required
        on logged.setting_code = required.setting_code
)

select
    attempt.*,
    case
        when
            drilling_step.heap_s > 0
            and round(attempt.drill_s, 3) % drilling_step.heap_s = 0
            then drilling_step.heap_s
        when
            drilling_step.resolution_s > 0
            and round(attempt.drill_s, 3) % drilling_step.resolution_s = 0
            then drilling_step.resolution_s
        else 0
    end as step_s,
    coalesce(
        attempt.drill_s > 0 and attempt.hole_depth_mm > 25 * attempt.drill_s, false
    ) as is_over_limit,
    case
        when attempt.hole_depth_mm is null or attempt.hole_depth_mm <= 0
            then 'no_depth'
        when attempt.drill_s is null then 'untimed'
        when attempt.drill_s <= 0 then 'zero'
        when doubtful_crew_day.doubt is not null then doubtful_crew_day.doubt
        when
            attempt.hole_depth_mm / attempt.drill_s
            > greatest(25, 3 * drilling_speed.median_mm_s) then 'too_fast'
        when 2 * step_s * drilling_speed.median_mm_s > attempt.hole_depth_mm
            then 'too_coarse'
        else 'used'
    end as fate
from attempt
left join doubtful_crew_day
    on
        attempt.site_code = doubtful_crew_day.site_code
        and attempt.crew_code = doubtful_crew_day.crew_code
        and attempt.installed_on = doubtful_crew_day.installed_on
        and attempt.setting_code = doubtful_crew_day.setting_code
left join drilling_speed
    on
        attempt.drill_diameter_mm = drilling_speed.drill_diameter_mm
        and attempt.drill_method = drilling_speed.drill_method
left join drilling_step on attempt.site_code = drilling_step.site_code;
