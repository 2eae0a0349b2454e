-- In which steps each torque gauge is read. Grain: one row per site, setting code and
-- wrench code of these sites (NULL: all), '' where none is logged; gauge_key is their
-- hash. Reads: installation.
--
-- The step is the coarsest of the ten that 99 % of the readings keep to: of the
-- wrench's own where there are 30 or more of this setting code, else of all of the
-- site. NULL where they keep to none of them, as where they were converted from
-- another unit. By setting code, since small torques are set with finer gauges.
create or replace macro gauge(sites) as table
    with step as (
        select unnest([10, 5, 2, 1, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01])::double as step_nm
    ),

    reading as (
        select
            site_code,
            setting_code,
            coalesce(wrench_code, '') as wrench_code,
            setting_torque_nm as torque_nm,
            count(*) as row_count
        from installation
        where
            setting_torque_nm is not null
            and outcome is distinct from 'abandoned'
            and (sites is null or list_contains(sites, site_code))
        group by site_code, setting_code, coalesce(wrench_code, ''), setting_torque_nm
    ),

    kept_to as (
        select
            reading.site_code,
            reading.setting_code,
            reading.wrench_code,
            step.step_nm,
            sum(reading.row_count) as readings,
            sum(reading.row_count) filter (
                abs(
                    reading.torque_nm
                    - round(reading.torque_nm / step.step_nm) * step.step_nm
                ) < 1e-6
            ) as on_step
        from reading
        cross join step
        group by
            reading.site_code, reading.setting_code, reading.wrench_code, step.step_nm
    ),

    of_wrench as (
        select
            site_code,
            setting_code,
            wrench_code,
            max(readings) as readings,
            max(step_nm) filter (on_step >= 0.99 * readings) as step_nm
        from kept_to
        group by site_code, setting_code, wrench_code
    ),

    of_site as (
        select
            site_code,
            setting_code,
            max(step_nm) filter (on_step >= 0.99 * readings) as step_nm
        from (
            select
                site_code,
                setting_code,
                step_nm,
                sum(readings) as readings,
                sum(on_step) as on_step
            from kept_to
            group by site_code, setting_code, step_nm
        )
        group by site_code, setting_code
    )

    select
        hash(of_wrench.site_code, of_wrench.setting_code, of_wrench.wrench_code)
            as gauge_key,
        of_wrench.site_code,
        of_wrench.setting_code,
        of_wrench.wrench_code,
        if(
            of_wrench.readings >= 30 and of_wrench.wrench_code != '',
            of_wrench.step_nm,
            of_site.step_nm
        ) as step_nm
    from of_wrench
    inner join of_site
        on
            of_wrench.site_code = of_site.site_code
            and of_wrench.setting_code = of_site.setting_code;
