-- title: Setting torque
-- unit: Nm
-- nonconforming: The torque at setting lies outside the published band; where none is
--     published, outside 90 % to 110 % of the setting torque (project default).
-- unrecorded: No torque at setting was logged. A torque checked later is never judged
--     by this band: preload relaxes.
-- source: Setting data. 10 %: common practice, no source. Relaxation to 40-60 % of the
--     initial preload: Eligehausen et al. 2006, from memory.

create or replace macro torque_low_nm(required) as
coalesce(required.torque_low_nm, 0.9 * required.setting_torque_nm);

create or replace macro torque_high_nm(required) as
coalesce(required.torque_high_nm, 1.1 * required.setting_torque_nm);

create or replace macro setting_torque_margin(logged, required) as
least(
    margin_over(logged.setting_torque_nm, torque_low_nm(required)),
    margin_over(torque_high_nm(required), logged.setting_torque_nm)
);

create or replace macro setting_torque_direction(logged, required, margin) as
case
    when margin >= 0 then null
    when logged.setting_torque_nm < required.setting_torque_nm then 'under'
    when logged.setting_torque_nm > required.setting_torque_nm then 'over'
end;

create or replace macro setting_torque_verdict(logged, required, margin) as
verdict_of(
    false,
    margin >= 0,
    is_unreadable(logged, 'setting_torque_nm')
);

create or replace macro setting_torque_words(logged, required, margin) as
concat(
    coalesce(
        'set to ' || in_words(logged.setting_torque_nm, 'Nm'),
        'no torque at setting logged'
    ),
    ', ', in_words(torque_low_nm(required), 'Nm'), ' to ',
    in_words(torque_high_nm(required), 'Nm'), ' required',
    if(
        required.torque_low_nm is null or required.torque_high_nm is null,
        ' (project default band)', ''
    )
);
