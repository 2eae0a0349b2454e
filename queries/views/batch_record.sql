-- The rows of one batch, each with the signs it shows itself. Grain: one row per
-- installation of one site, crew and day that was not abandoned. Reads: installation,
-- gauge, batch_row and batch_time (their headers and that of batch_sign say what each
-- sign is), source_file.
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
                if(
                    abs(
                        shown.torque_nm
                        - round(shown.torque_nm / (10 * gauge.step_nm))
                        * 10 * gauge.step_nm
                    ) < 1e-6, 'round', null
                ),
                if(shown.repeats_torque, 'torque', null),
                if(shown.repeats_record, 'record', null),
                if(stamped.is_impossible_pace, 'pace', null),
                if(stamped.is_stamped_late, 'stamp', null)
            ],
            lambda sign: sign is not null
        ) as signs,
        source_file.file_name,
        logged.source_row
    from
        batch_row(
            one_day::date,
            one_day::date,
            [hash(one_site, one_crew, one_day::date)]
        ) as shown
    inner join installation as logged
        on
            shown.source_file_id = logged.source_file_id
            and shown.source_row = logged.source_row
    left join
        batch_time(
            one_day::date,
            one_day::date,
            [hash(one_site, one_crew, one_day::date)]
        ) as stamped
        on
            shown.source_file_id = stamped.source_file_id
            and shown.source_row = stamped.source_row
    left join gauge
        on
            logged.site_code = gauge.site_code
            and logged.setting_code = gauge.setting_code
            and coalesce(logged.wrench_code, '') = gauge.wrench_code
    inner join source_file
        on logged.source_file_id = source_file.source_file_id
    where
        logged.site_code = one_site
        and logged.crew_code = one_crew
        and logged.installed_on = one_day::date;
