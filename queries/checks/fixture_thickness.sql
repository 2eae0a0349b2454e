-- title: Fixture thickness
-- unit: mm
-- nonconforming: Fixture and packing together are thicker than the setting data allow
--     for the length installed. An anchor of another length than specified may clamp
--     as much more, or less, as it is longer or shorter.
-- unrecorded: Fixture, packing, or what the anchor's length is, was not logged, and
--     what was logged is not too thick by itself. With a length mark only: the
--     lengths that the mark stands for do not all give one answer.
-- source: Setting data (max fixture, for the specified length). That packing counts as
--     fixture, and that the rest follows the length: plain geometry, common practice,
--     no source.
select
    logged.fixture_thickness_mm + logged.packing_mm as clamped_mm,
    -- Packing that nobody logged may be none: then at least the rest is clamped.
    coalesce(logged.fixture_thickness_mm, 0)
    + coalesce(logged.packing_mm, 0) as at_least_mm,
    -- Within the 1 mm of the check of the length, it is the specified anchor.
    reaches(
        1, abs(logged.anchor_length_mm - required.anchor_length_mm)
    ) or (
        logged.anchor_length_mm is null and logged.length_mark = required.length_mark
    ) as is_specified,
    required.max_fixture_mm + if(
        is_specified, 0, logged.length_from_mm - required.anchor_length_mm
    ) as allowed_from_mm,
    required.max_fixture_mm + if(
        is_specified, 0, logged.length_to_mm - required.anchor_length_mm
    ) as allowed_to_mm,
    if(
        allowed_from_mm = allowed_to_mm, margin_over(allowed_to_mm, clamped_mm), null
    ) as margin,
    verdict_of(
        false,
        case
            when reaches(allowed_from_mm, clamped_mm) then true
            when not reaches(allowed_to_mm, at_least_mm) then false
            -- A mark stands for lengths up to but not including the longer one.
            when
                allowed_from_mm < allowed_to_mm
                and reaches(at_least_mm, allowed_to_mm) then false
        end,
        unreadable.fixture_thickness_mm or unreadable.packing_mm
        or unreadable.anchor_length_mm
    ) as verdict,
    if(verdict = 'nonconforming', 'thick', null) as direction,
    concat(
        case
            when clamped_mm is not null and logged.packing_mm > 0
                then
                    'fixture ' || in_number(logged.fixture_thickness_mm) || ' and '
                    || in_words(logged.packing_mm, 'mm') || ' of packing: '
                    || in_words(clamped_mm, 'mm')
            when clamped_mm is not null then 'fixture ' || in_words(clamped_mm, 'mm')
            when logged.fixture_thickness_mm is not null
                then
                    'fixture ' || in_words(logged.fixture_thickness_mm, 'mm')
                    || ', packing not logged'
            else 'no fixture thickness logged'
        end,
        ', ',
        case
            when allowed_to_mm is null
                then
                    in_number(required.max_fixture_mm)
                    || ' allowed with the specified length; no length logged'
            when allowed_from_mm < allowed_to_mm
                then
                    in_number(allowed_from_mm) || ' to ' || in_number(allowed_to_mm)
                    || ' allowed with length mark ' || logged.length_mark
            when allowed_to_mm != required.max_fixture_mm
                then
                    in_number(greatest(allowed_to_mm, 0))
                    || ' allowed with an anchor of '
                    || in_words(logged.anchor_length_mm, 'mm')
            else in_number(allowed_to_mm) || ' allowed'
        end
    ) as words
from logged inner join required on logged.setting_code = required.setting_code
