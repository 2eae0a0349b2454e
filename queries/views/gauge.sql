-- In which steps each torque gauge is read. Grain: one row per site, setting code and
-- wrench code, '' where none is logged. Reads: batch_tally, reading_step.
--
-- The step is the coarsest of the ten up to 10 Nm that 99 % of the readings keep to: of
-- the wrench's own where there are 30 or more of this setting code, else of all of the
-- site. NULL where they keep to none of them, as where they were converted from
-- another unit. By setting code, since small torques are set with finer gauges.
create or replace view gauge as
with kept_to as (
    select
        batch_tally.site_code,
        batch_tally.setting_code,
        batch_tally.wrench_code,
        reading_step.step_nm,
        sum(batch_tally.torques) as readings,
        sum(batch_tally.on_step[reading_step.place]) as on_step
    from batch_tally
    cross join reading_step
    where reading_step.step_nm <= 10
    group by
        batch_tally.site_code,
        batch_tally.setting_code,
        batch_tally.wrench_code,
        reading_step.step_nm
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
        and of_wrench.setting_code = of_site.setting_code
-- Where no torque was read there is no step to keep to.
where of_wrench.readings > 0;
