-- Torques found later, as a share of the torque at setting, with their age in days.
-- Preload relaxes, so none of them is judged. Where no torque at setting was logged
-- the share is of the one that the setting data ask for (is_of_required). Grain: one
-- row per installation with a re-check torque; the age is NULL where the log does not
-- give it, and negative where its dates contradict each other. Days are the site's.
-- Reads: installation, setting_data, site.
create or replace view recheck as
select
    logged.site_code,
    logged.record_id,
    logged.source_file_id,
    logged.source_row,
    logged.recheck_torque_nm,
    logged.recheck_torque_nm / coalesce(
        nullif(logged.setting_torque_nm, 0), required.setting_torque_nm
    ) as recheck_share,
    coalesce(logged.setting_torque_nm, 0) = 0 as is_of_required,
    coalesce(
        date_diff('second', logged.installed_at, logged.recheck_at) / 86400.0,
        (logged.recheck_at at time zone site.time_zone)::date - logged.installed_on
    ) as age_days
from installation as logged
inner join setting_data as required
    on logged.setting_code = required.setting_code
inner join site on logged.site_code = site.site_code
where logged.recheck_torque_nm is not null;
