-- title: Hole depth
-- unit: mm
-- nonconforming: The hole is shallower than the setting data require (h_1). A
--     deeper hole conforms, but never makes up for a short anchor.
-- unrecorded: No hole depth was logged.
-- source: Setting data (hole depth h_1, EAD 330232 and ACI 355.2 terms, from memory).
select
    margin_over(logged.hole_depth_mm, required.hole_depth_mm) as margin,
    verdict_of(false, margin >= 0, unreadable.hole_depth_mm) as verdict,
    if(margin < 0, 'shallow', null) as direction,
    concat(
        coalesce(
            'hole ' || in_words(logged.hole_depth_mm, 'mm') || ' deep',
            'no hole depth logged'
        ),
        ', ', in_number(required.hole_depth_mm), ' required'
    ) as words
from logged inner join required on logged.setting_code = required.setting_code
