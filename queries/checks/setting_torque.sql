-- title: Setting torque
-- unit: Nm
-- nonconforming: The torque at setting lies outside the published band; where none is
--     published, outside 90 % to 110 % of the setting torque (project default). With
--     a guard band for the tool's error, both ends move inward by it (off unless
--     switched on).
-- unrecorded: No torque at setting was logged. A torque checked later is never judged
--     by this band: preload relaxes.
-- source: Setting data. 10 %: common practice, no source. Relaxation to 40-60 % of the
--     initial preload: Eligehausen et al. 2006, from memory.
select
    least(
        margin_over(logged.setting_torque_nm, required.lowest_torque_nm),
        margin_over(required.highest_torque_nm, logged.setting_torque_nm)
    ) as margin,
    verdict_of(false, margin >= 0, unreadable.setting_torque_nm) as verdict,
    case
        when margin >= 0 then null
        when not reaches(logged.setting_torque_nm, required.lowest_torque_nm)
            then 'under'
        when margin < 0 then 'over'
    end as direction,
    concat(
        coalesce(
            'set to ' || in_words(logged.setting_torque_nm, 'Nm'),
            'no torque at setting logged'
        ),
        ', ', in_number(required.lowest_torque_nm), ' to ',
        in_number(required.highest_torque_nm), ' required',
        case
            when required.has_default_low and required.has_default_high
                then ' (project default band)'
            when required.has_default_low then ' (lower end: project default)'
            when required.has_default_high then ' (upper end: project default)'
            else ''
        end,
        if(required.torque_guard_frac > 0, ' (with guard band)', '')
    ) as words
from logged inner join required on logged.setting_code = required.setting_code
