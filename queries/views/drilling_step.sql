-- In which steps a site writes down drilling times. Grain: one row per site with times.
-- resolution_s: the coarsest step that 95 of 100 of its times are multiples of (0:
-- finer than a second). heap_s: a coarser step that many more times are multiples of
-- than that resolution gives by chance: at least 3 times as many, and at least 20 of
-- 100, or 40 where whole seconds are written, which cluster by themselves (0: none, or
-- fewer than 100 times, which cannot tell). The bounds are project defaults. Reads:
-- installation.
create or replace view drilling_step as
with value as (
    select
        site_code,
        round(drill_s, 3) as drill_s,
        count(*) as n
    from installation
    where drill_s > 0
    group by all
),

counted as (
    select
        site_code,
        sum(n) as times,
        sum(n) filter (where drill_s % 60 = 0) / sum(n) as of_60,
        sum(n) filter (where drill_s % 30 = 0) / sum(n) as of_30,
        sum(n) filter (where drill_s % 15 = 0) / sum(n) as of_15,
        sum(n) filter (where drill_s % 10 = 0) / sum(n) as of_10,
        sum(n) filter (where drill_s % 5 = 0) / sum(n) as of_5,
        sum(n) filter (where drill_s % 1 = 0) / sum(n) as of_1
    from value
    group by site_code
),

resolved as (
    select
        *,
        case
            when times < 100 then 0
            when of_60 >= 0.95 then 60
            when of_30 >= 0.95 then 30
            when of_15 >= 0.95 then 15
            when of_10 >= 0.95 then 10
            when of_5 >= 0.95 then 5
            when of_1 >= 0.95 then 1
            else 0
        end::double as resolution_s,
        if(of_1 >= 0.95, 0.4, 0.2) as least_share
    from counted
)

select
    site_code,
    times,
    resolution_s,
    case
        when times < 100 then 0
        when
            of_60 >= greatest(least_share, 3 * greatest(resolution_s, 0.1) / 60)
            and resolution_s < 60 then 60
        when
            of_30 >= greatest(least_share, 3 * greatest(resolution_s, 0.1) / 30)
            and resolution_s < 30 then 30
        when
            of_15 >= greatest(least_share, 3 * greatest(resolution_s, 0.1) / 15)
            and resolution_s < 15 then 15
        when
            of_10 >= greatest(least_share, 3 * greatest(resolution_s, 0.1) / 10)
            and resolution_s < 10 then 10
        when
            of_5 >= greatest(least_share, 3 * greatest(resolution_s, 0.1) / 5)
            and resolution_s < 5 then 5
        when
            of_1 >= greatest(least_share, 3 * greatest(resolution_s, 0.1))
            and resolution_s < 1 then 1
        else 0
    end::double as heap_s
from resolved;
