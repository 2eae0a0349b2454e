-- title: Member thickness
-- unit: mm
-- nonconforming: The concrete member is thinner than the setting data require (h_min).
-- inapplicable: The setting data state no minimum.
-- unrecorded: No member thickness was logged.
-- source: Setting data (h_min of European assessments, from memory).
select
    margin_over(logged.member_thickness_mm, required.min_member_mm) as margin,
    verdict_of(
        required.min_member_mm is null, margin >= 0, unreadable.member_thickness_mm
    ) as verdict,
    if(margin < 0, 'thin', null) as direction,
    concat(
        coalesce(
            'member ' || in_words(logged.member_thickness_mm, 'mm') || ' thick',
            'no member thickness logged'
        ),
        coalesce(
            ', ' || in_number(required.min_member_mm) || ' required',
            '; no minimum stated'
        )
    ) as words
from logged inner join required on logged.setting_code = required.setting_code
