-- Every attempt to drill, with what decides its time. Grain: one row per installation,
-- abandoned attempts included: their time was spent as well. Depth is the depth
-- drilled, not the depth required; a time of 0 is no time and counts as untimed.
-- Reads: installation, setting_data.
create or replace view drilled_hole as
select
    installation.site_code,
    installation.crew_code,
    installation.installed_on,
    required.anchor_size,
    required.diameter_mm,
    coalesce(installation.drill_method, 'not recorded') as drill_method,
    installation.hole_depth_mm,
    coalesce(installation.outcome = 'abandoned', false) as is_abandoned,
    if(installation.drill_s > 0, installation.drill_s, null) as drill_s
from installation
inner join setting_data as required
    on installation.setting_code = required.setting_code;
