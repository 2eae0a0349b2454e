-- title: Tilt
-- unit: deg
-- nonconforming: The anchor is further off the perpendicular than the setting data
--     allow.
-- inapplicable: The setting data state no largest tilt.
-- unrecorded: No tilt was logged.
-- source: Setting data. Usual limits are 5 degrees (EAD 330232) and 6 degrees (ACI
--     355.2-19), as reported in CivilEng 2020, 1(3), 253-263.
select
    margin_over(required.max_tilt_deg, logged.tilt_deg) as margin,
    verdict_of(required.max_tilt_deg is null, margin >= 0, unreadable.tilt_deg)
        as verdict,
    if(margin < 0, 'tilted', null) as direction,
    concat(
        coalesce(
            'tilted by ' || in_words(logged.tilt_deg, 'degrees'), 'no tilt logged'
        ),
        coalesce(
            ', ' || in_number(required.max_tilt_deg) || ' allowed', '; no limit stated'
        )
    ) as words
from logged inner join required on logged.setting_code = required.setting_code
