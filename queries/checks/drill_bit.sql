-- title: Drill bit
-- unit: mm
-- nonconforming: The cutting diameter lies outside the smallest and largest that the
--     setting data allow, or the bit was logged as worn. Where the setting data give
--     no limit, the usual one for the nominal diameter holds.
-- inapplicable: Neither the setting data nor the usual limits know this diameter.
-- unrecorded: No cutting diameter was logged, nor that the bit is worn. That it is not
--     worn says nothing of its diameter.
-- source: Setting data (bit min, bit max), else queries/drill_bit_band.sql:
--     cutting diameters of carbide bits, metric and inch, from memory of European
--     and US practice.
select
    least(
        margin_over(logged.bit_diameter_mm, required.smallest_bit_mm),
        margin_over(required.largest_bit_mm, logged.bit_diameter_mm)
    ) as margin,
    verdict_of(
        required.smallest_bit_mm is null and required.largest_bit_mm is null
        and logged.bit_worn is not true,
        case
            when logged.bit_worn or margin < 0 then false
            when unreadable.bit_worn then null
            else margin >= 0
        end,
        unreadable.bit_diameter_mm or unreadable.bit_worn
    ) as verdict,
    case
        when verdict != 'nonconforming' then null
        when not reaches(required.largest_bit_mm, logged.bit_diameter_mm)
            then 'oversize'
        when not reaches(logged.bit_diameter_mm, required.smallest_bit_mm)
            then 'undersize'
        when logged.bit_worn then 'worn'
    end as direction,
    concat(
        coalesce(
            'bit ' || in_words(logged.bit_diameter_mm, 'mm'),
            'no cutting diameter logged'
        ),
        if(logged.bit_worn, ', logged as worn', ''),
        coalesce(
            ', ' || in_number(required.smallest_bit_mm) || ' to '
            || in_number(required.largest_bit_mm) || ' required',
            ', at least ' || in_number(required.smallest_bit_mm) || ' required',
            ', at most ' || in_number(required.largest_bit_mm) || ' required',
            '; no limits known for this diameter'
        ),
        case
            when required.has_usual_smallest_bit and required.has_usual_largest_bit
                then ' (usual limits)'
            when required.has_usual_smallest_bit then ' (smallest: usual limit)'
            when required.has_usual_largest_bit then ' (largest: usual limit)'
            else ''
        end
    ) as words
from logged inner join required on logged.setting_code = required.setting_code
