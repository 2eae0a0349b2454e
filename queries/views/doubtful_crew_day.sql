-- The days of a crew and setting whose drilling times are not one hole's. Grain: one
-- row per site, crew, day and setting with a doubt: 'shared' where half or more of its
-- times are 0 (the tool was triggered once for several holes), 'copied' where five or
-- more times (twenty where the site writes whole seconds or coarser) are all the same.
-- The numbers are project defaults. Reads: installation, drilling_step.
create or replace view doubtful_crew_day as
select
    installation.site_code,
    installation.crew_code,
    installation.installed_on,
    installation.setting_code,
    if(
        2 * count_if(installation.drill_s = 0) >= count(*), 'shared', 'copied'
    ) as doubt
from installation
left join drilling_step on installation.site_code = drilling_step.site_code
where installation.drill_s is not null
group by
    installation.site_code,
    installation.crew_code,
    installation.installed_on,
    installation.setting_code
having
    2 * count_if(installation.drill_s = 0) >= count(*)
    or (
        min(installation.drill_s) = max(installation.drill_s)
        and count(*) >= if(max(drilling_step.resolution_s) >= 1, 20, 5)
    );
