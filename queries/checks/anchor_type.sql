-- title: Anchor type
-- unit: none
-- nonconforming: The type installed is not the type specified.
-- unrecorded: No anchor type was logged.
-- source: Setting data (anchor type); standard installation clause of European
--     assessments: the anchor as specified, parts not exchanged.
select
    null::double as margin,
    verdict_of(
        false, logged.anchor_type_code = required.anchor_type_code, false
    ) as verdict,
    if(verdict = 'nonconforming', 'other type', null) as direction,
    concat(
        coalesce('type ' || logged.anchor_type_code, 'no type logged'),
        ', ', required.anchor_type_code, ' specified'
    ) as words
from logged inner join required on logged.setting_code = required.setting_code
