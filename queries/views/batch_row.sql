-- Every anchor that was set, with what batch_count counts. Grain: one row per
-- installation of these sites (NULL: all) that was not abandoned. Reads: installation,
-- requirement, gauge.
--
-- "Before" is the row before in the files of the same batch (site, crew and day) and
-- setting data. A flag is NULL where the row cannot show it. place_frac: where the
-- torque lies in its band, from 0 to 1. Codes are carried as 64-bit hashes, file and
-- row as one number, and flags are settled early: sorting ten million wide rows costs
-- several times the rest. What times show is in batch_time, for the same reason.
create or replace macro batch_row(site_codes) as table
    with band as (
        select
            setting_code,
            lowest_torque_nm,
            highest_torque_nm - lowest_torque_nm as width_nm
        from requirement
    ),

    measured as (
        select
            hash(site_code, crew_code, installed_on) as batch_key,
            hash(site_code, setting_code) as setting_key,
            hash(site_code, setting_code, coalesce(wrench_code, '')) as gauge_key,
            setting_code,
            source_file_id * 4294967296 + source_row as place_in_files,
            setting_torque_nm as torque_nm,
            if(
                (hole_depth_mm is not null)::integer
                + (embedment_mm is not null)::integer
                + (projection_mm is not null)::integer
                + (fixture_thickness_mm is not null)::integer
                + (edge_1_mm is not null)::integer
                + (edge_2_mm is not null)::integer
                + (spacing_mm is not null)::integer
                + (setting_torque_nm is not null)::integer
                + (drill_s is not null)::integer >= 3,
                hash(
                    hole_depth_mm, embedment_mm, projection_mm, fixture_thickness_mm,
                    edge_1_mm, edge_2_mm, spacing_mm, setting_torque_nm, drill_s
                ), null
            ) as measured_hash
        from installation
        where
            outcome is distinct from 'abandoned'
            and (site_codes is null or list_contains(site_codes, site_code))
    ),

    judged as (
        select
            measured.batch_key,
            measured.setting_key,
            measured.place_in_files,
            measured.torque_nm,
            measured.measured_hash,
            band.width_nm,
            gauge.step_nm,
            (measured.torque_nm - band.lowest_torque_nm) / band.width_nm as place_frac
        from measured
        inner join band on measured.setting_code = band.setting_code
        left join gauge(site_codes) as gauge
            on measured.gauge_key = gauge.gauge_key
    ),

    in_file as (
        select
            batch_key,
            setting_key,
            place_in_files,
            width_nm,
            step_nm,
            place_frac,
            -- A billionth: 49.5 in a band from 0.9 x 55.
            place_frac between -1e-9 and 1 + 1e-9 as is_inside,
            place_frac between -1e-9 and 0.05 or place_frac between 0.95 and 1 + 1e-9
                as is_at_edge,
            abs(torque_nm - round(torque_nm / (10 * step_nm)) * 10 * step_nm) < 1e-6
                as is_round,
            torque_nm = lag(torque_nm) over in_setting as repeats_torque,
            measured_hash = lag(measured_hash) over in_setting as repeats_record
        from judged
        window in_setting as (
            partition by hash(batch_key, setting_key) order by place_in_files
        )
    )

    select
        batch_key,
        setting_key,
        place_in_files // 4294967296 as source_file_id,
        place_in_files % 4294967296 as source_row,
        width_nm,
        step_nm,
        place_frac,
        is_inside,
        is_at_edge,
        is_round,
        repeats_torque,
        repeats_record
    from in_file;
