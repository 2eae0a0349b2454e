-- The rows of one batch, each with the signs it shows itself. Grain: one row per
-- installation of one site, crew and day that was not abandoned. Reads: installation,
-- batch_row and batch_time (their headers and that of batch_sign say what each sign
-- is), source_file.
create or replace macro batch_record(one_site, one_crew, one_day) as table
    select
        logged.site_code,
        logged.crew_code,
        logged.installed_on,
        logged.record_id,
        logged.setting_code,
        logged.installed_at,
        logged.setting_torque_nm,
        logged.hole_depth_mm,
        logged.drill_s,
        logged.wrench_code,
        list_filter(
            [
                if(shown.is_at_edge, 'edge', null),
                if(shown.is_round, 'round', null),
                if(shown.repeats_torque, 'torque', null),
                if(shown.repeats_record, 'record', null),
                if(stamped.is_impossible_pace, 'pace', null),
                if(stamped.is_stamped_late, 'stamp', null)
            ],
            lambda sign: sign is not null
        ) as signs,
        source_file.file_name,
        logged.source_row
    from batch_row([one_site]) as shown
    inner join installation as logged
        on
            shown.source_file_id = logged.source_file_id
            and shown.source_row = logged.source_row
    left join batch_time([one_site]) as stamped
        on
            shown.source_file_id = stamped.source_file_id
            and shown.source_row = stamped.source_row
    inner join source_file
        on logged.source_file_id = source_file.source_file_id
    where
        shown.batch_key = hash(one_site, one_crew, one_day::date)
        and logged.site_code = one_site
        and logged.crew_code = one_crew
        and logged.installed_on = one_day::date;
