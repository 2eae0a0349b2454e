-- Installations with at least one nonconforming check. Grain: one row per installation;
-- nonconforming_mask says which checks (bit positions: queries/judgement.py).
-- cone_ratio is indicative and orders follow-up only (indicative_ratio.sql).
-- Reads: installation, setting_data, source_file.
create or replace view nonconforming_installation as
select
    installation.site_code,
    installation.record_id,
    installation.revision,
    installation.installed_on,
    installation.crew_code,
    required.anchor_size,
    installation.setting_code,
    installation.nonconforming_mask,
    installation.cone_ratio,
    source_file.file_name,
    installation.source_row
from installation
inner join setting_data as required
    on installation.setting_code = required.setting_code
inner join source_file
    on installation.source_file_id = source_file.source_file_id
where installation.nonconforming_mask != 0;
