-- Every attempt to drill, with what decides its time. Grain: one row per installation,
-- abandoned attempts included: their time was spent as well. Depth is the depth
-- drilled, not the depth required; a time of 0 is no time and counts as untimed. Times
-- of cleaning and setting count where the attempt was not abandoned.
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
    if(installation.drill_s > 0, installation.drill_s, null) as drill_s,
    if(
        installation.cleaning_s > 0 and not is_abandoned,
        installation.cleaning_s, null
    ) as cleaning_s,
    if(
        installation.setting_s > 0 and not is_abandoned,
        installation.setting_s, null
    ) as setting_s
from installation
inner join setting_data as required
    on installation.setting_code = required.setting_code;
