-- Torques found later, as a share of the torque at setting, with their age in days.
-- Preload relaxes, so none of them is judged. Grain: one row per installation with a
-- re-check torque; share and age are NULL where the log does not give them.
-- Reads: installation.
create or replace view recheck as
select
    site_code,
    record_id,
    source_file_id,
    source_row,
    recheck_torque_nm,
    recheck_torque_nm / nullif(setting_torque_nm, 0) as recheck_share,
    coalesce(
        date_diff('second', installed_at, recheck_at) / 86400.0,
        recheck_at::date - installed_on
    ) as age_days
from installation
where recheck_torque_nm is not null;
