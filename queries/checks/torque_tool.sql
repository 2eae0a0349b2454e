-- title: Torque tool
-- unit: days
-- nonconforming: The wrench's calibration had run out on the day (12 months after it,
--     unless its record says otherwise), or the wrench had been used more often since
--     (5,000 times, unless its record says otherwise; uses are the logged torques),
--     or the required torque lies outside its range. The margin is the days left.
-- unrecorded: No wrench was logged, or no calibration of it on or before the day is
--     known. Uses that are in no log cannot be counted.
-- source: ISO 6789 (12 months or 5,000 cycles where nothing else is set; range), from
--     memory.
select
    reaches(required.setting_torque_nm, calibration.range_low_nm)
    and reaches(calibration.range_high_nm, required.setting_torque_nm) as is_in_range,
    calibration.last_valid_on - logged.installed_on as days_left,
    if(
        days_left < 0 or (is_in_range and calibration.is_used_up is not true),
        days_left, null
    )::double as margin,
    verdict_of(
        false,
        case
            when
                margin < 0 or not is_in_range or calibration.is_used_up
                then false
            else margin >= 0
        end,
        false
    ) as verdict,
    case
        when margin < 0 then 'expired'
        when not is_in_range then 'out of range'
        when verdict = 'nonconforming' then 'too many uses'
    end as direction,
    case
        when logged.wrench_code is null then 'no wrench logged'
        when calibration.last_valid_on is null
            then
                'wrench ' || logged.wrench_code
                || ': no calibration on or before the day known'
        else concat(
            'wrench ', logged.wrench_code, ' calibrated ', calibration.calibrated_on,
            if(
                calibration.is_used_up,
                ', used more than ' || calibration.most_uses || ' times since', ''
            ),
            ', valid to ', calibration.last_valid_on,
            '; range ', in_number(calibration.range_low_nm), ' to ',
            in_words(calibration.range_high_nm, 'Nm'),
            ', set on ', logged.installed_on, ' to ',
            in_words(required.setting_torque_nm, 'Nm')
        )
    end as words
from logged inner join required on logged.setting_code = required.setting_code
left join calibration on logged.wrench_code = calibration.wrench_code
