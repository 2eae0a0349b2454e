-- The calibrations of each wrench, each with the days for which it is the newest:
-- from calibrated_on to before replaced_on. last_valid_on is the last day it holds.
-- Grain: one row per wrench and day of calibration. Reads: wrench_calibration.
create or replace view calibration as
select
    wrench_code,
    calibrated_on,
    coalesce(
        lead(calibrated_on) over (
            partition by wrench_code order by calibrated_on
        ), 'infinity'::date
    ) as replaced_on,
    valid_to_on as last_valid_on,
    valid_cycles as most_uses,
    range_low_nm,
    range_high_nm,
    certificate
from wrench_calibration;
