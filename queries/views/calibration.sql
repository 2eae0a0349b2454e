-- The calibrations of each wrench, each with the days for which it is the newest.
-- Valid for 12 months and 5,000 uses where its record says nothing else (ISO 6789, from
-- memory); last_valid_on is the last day it holds. Grain: one row per wrench and day of
-- calibration; the record loaded last counts. Reads: wrench_calibration.
create or replace view calibration as
select
    wrench_code,
    calibrated_on,
    coalesce(
        lead(calibrated_on) over (
            partition by wrench_code order by calibrated_on
        ), 'infinity'::date
    ) as replaced_on,
    coalesce(valid_to_on, (calibrated_on + interval 12 month)::date) as last_valid_on,
    coalesce(valid_cycles, 5000) as most_uses,
    range_low_nm,
    range_high_nm,
    certificate
from (
    select * from wrench_calibration
    qualify row_number() over (
        partition by wrench_code, calibrated_on
        order by source_file_id desc, certificate desc
    ) = 1
);
