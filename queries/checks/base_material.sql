-- title: Base material
-- unit: MPa
-- nonconforming: The base material is none of those in the setting data, or its
--     strength is below the minimum. The margin is that of the strength.
-- inapplicable: The setting data name neither base materials nor a strength.
-- unrecorded: One of the two that the setting data ask for, material or strength, was
--     not logged, and the other does not decide it.
-- source: Setting data (base materials, minimum strength); standard installation clause
--     of European assessments: strength class not lower than assumed.
select
    not contains(
        required.base_material_codes, ';' || logged.base_material || ';'
    ) as is_other,
    margin_over(logged.concrete_mpa, required.min_concrete_mpa) as margin,
    verdict_of(
        required.base_material_codes is null and required.min_concrete_mpa is null,
        case
            when is_other or margin < 0 then false
            when
                (is_other is not null or required.base_material_codes is null)
                and (margin is not null or required.min_concrete_mpa is null)
                then true
        end,
        unreadable.concrete_mpa
    ) as verdict,
    case
        when is_other then 'other material'
        when margin < 0 then 'weak'
    end as direction,
    concat(
        coalesce(logged.base_material, 'no base material logged'),
        coalesce(
            ', ' || in_words(logged.concrete_mpa, 'MPa'), ', no strength logged'
        ),
        '; ',
        coalesce(
            replace(trim(required.base_material_codes, ';'), ';', ' or '),
            'any material'
        ),
        coalesce(
            ' of ' || in_words(required.min_concrete_mpa, 'MPa') || ' or more', ''
        ),
        ' required'
    ) as words
from logged inner join required on logged.setting_code = required.setting_code
