-- Sizes in order of diameter, never of spelling (M6 before M10).
-- Grain: one row per anchor_size. Reads: setting_data.
create or replace view anchor_size as
select
    anchor_size,
    min(diameter_mm) as diameter_mm
from setting_data
group by anchor_size;
