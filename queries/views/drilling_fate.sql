-- What became of every attempt's drilling time, before anything is fitted. Grain: one
-- row per site; the fates of timed_attempt add up to attempts. over_limit: faster than
-- 25 mm/s, whatever became of them. Reads: timed_attempt, drilling_step.
create or replace view drilling_fate as
select
    timed_attempt.site_code as site,
    any_value(coalesce(drilling_step.resolution_s, 0)) as resolution_s,
    any_value(coalesce(drilling_step.heap_s, 0)) as heap_s,
    count(*) as attempts,
    count_if(fate = 'used')::bigint as used,
    count_if(fate = 'no_depth')::bigint as no_depth,
    count_if(fate = 'untimed')::bigint as untimed,
    count_if(fate = 'zero')::bigint as zero_time,
    count_if(fate = 'shared')::bigint as shared,
    count_if(fate = 'copied')::bigint as copied,
    count_if(fate = 'too_fast')::bigint as too_fast,
    count_if(fate = 'too_coarse')::bigint as too_coarse,
    count_if(is_over_limit)::bigint as over_limit
from timed_attempt
left join drilling_step on timed_attempt.site_code = drilling_step.site_code
group by timed_attempt.site_code;
