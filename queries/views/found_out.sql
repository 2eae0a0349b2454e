-- The wrenches that a calibration found out of tolerance before it adjusted them, each
-- with the days whose torques are not known for it: from calibrated_on, the calibration
-- before, to before found_on. calibrated_on is NULL where none is known before: then it
-- is all days before. What was found is not told by the row of the period it speaks of,
-- but by the next one. ISO 9001:2015, 7.1.5.2 asks whether earlier results are affected
-- (from memory). Grain: one row per wrench and calibration that found it out of
-- tolerance. Reads: wrench_calibration.
create or replace view found_out as
with spanned as (
    select
        wrench_code,
        as_found,
        calibrated_on as found_on,
        lag(calibrated_on) over (
            partition by wrench_code order by calibrated_on
        ) as calibrated_on
    from wrench_calibration
)

select
    wrench_code,
    calibrated_on,
    found_on
from spanned
where as_found = 'out';
