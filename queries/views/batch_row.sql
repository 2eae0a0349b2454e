-- Every anchor that was set, with what batch_count counts. Grain: one row per
-- installation that was not abandoned, of these batches (hashes of site, crew and day,
-- all between two days). Reads: installation, requirement.
--
-- "Before" is the row before in the files of the same batch (site, crew and day) and
-- setting data. A flag is NULL where the row cannot show it. place_frac: where the
-- torque lies in its band, from 0 to 1. Codes are carried as 64-bit hashes, file and
-- row as one number: sorting ten million wide rows costs several times the rest. What
-- times show is in batch_time, for the same reason.
create or replace macro batch_row(from_on, to_on, batch_keys) as table
    with band as (
        select
            setting_code,
            lowest_torque_nm,
            highest_torque_nm - lowest_torque_nm as width_nm
        from requirement
    ),

    measured as (
        select
            hash(logged.site_code, logged.crew_code, logged.installed_on) as batch_key,
            hash(
                logged.site_code,
                logged.crew_code,
                logged.installed_on,
                logged.setting_code
            ) as run_key,
            hash(
                logged.site_code, logged.setting_code, coalesce(logged.wrench_code, '')
            ) as gauge_key,
            logged.source_file_id * 4294967296 + logged.source_row as place_in_files,
            logged.setting_torque_nm as torque_nm,
            (logged.setting_torque_nm - band.lowest_torque_nm) / band.width_nm
                as place_frac,
            if(
                (logged.hole_depth_mm is not null)::integer
                + (logged.embedment_mm is not null)::integer
                + (logged.projection_mm is not null)::integer
                + (logged.fixture_thickness_mm is not null)::integer
                + (logged.edge_1_mm is not null)::integer
                + (logged.edge_2_mm is not null)::integer
                + (logged.spacing_mm is not null)::integer
                + (logged.setting_torque_nm is not null)::integer
                + (logged.drill_s is not null)::integer >= 3,
                hash(
                    logged.hole_depth_mm,
                    logged.embedment_mm,
                    logged.projection_mm,
                    logged.fixture_thickness_mm,
                    logged.edge_1_mm,
                    logged.edge_2_mm,
                    logged.spacing_mm,
                    logged.setting_torque_nm,
                    logged.drill_s
                ), null
            ) as measured_hash
        from installation as logged
        inner join band on logged.setting_code = band.setting_code
        where
            logged.outcome is distinct from 'abandoned'
            and logged.installed_on between from_on and to_on
            and hash(logged.site_code, logged.crew_code, logged.installed_on) in (
                select unnest(batch_keys)
            )
    )

    select
        batch_key,
        gauge_key,
        place_in_files // 4294967296 as source_file_id,
        place_in_files % 4294967296 as source_row,
        torque_nm,
        place_frac,
        -- A billionth: 49.5 in a band from 0.9 x 55.
        place_frac between -1e-9 and 1 + 1e-9 as is_inside,
        place_frac between -1e-9 and 0.05 or place_frac between 0.95 and 1 + 1e-9
            as is_at_edge,
        torque_nm = lag(torque_nm) over in_run as repeats_torque,
        measured_hash = lag(measured_hash) over in_run as repeats_record
    from measured
    window in_run as (partition by run_key order by place_in_files);
