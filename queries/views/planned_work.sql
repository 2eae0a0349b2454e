-- Holes planned for a crew in the days given, from the sheet of planned holes. Grain:
-- one row per crew and site with such a plan. Reads: planned_hole, setting_data, tally.
--
-- A plan counts by the share of its days that lie in those given. One without a crew is
-- shared among the crews that worked at its site since pace_from_on, by what they did;
-- where nobody did, crew_code is NULL. A NULL filter means all.
create or replace macro planned_work(
    from_on, to_on, pace_from_on, site_codes, anchor_sizes
) as table
    with plan as (
        select
            planned_hole.site_code,
            planned_hole.crew_code,
            sum(
                hole_count
                * (
                    least(planned_to_on, to_on::date)
                    - greatest(planned_from_on, from_on::date) + 1
                )
                / (planned_to_on - planned_from_on + 1)
            ) as hole_count
        from planned_hole
        inner join setting_data
            on planned_hole.setting_code = setting_data.setting_code
        where
            planned_to_on >= from_on::date
            and planned_from_on <= to_on::date
            and (
                site_codes is null
                or list_contains(site_codes, planned_hole.site_code)
            )
            and (
                anchor_sizes is null
                or list_contains(anchor_sizes, setting_data.anchor_size)
            )
        group by planned_hole.site_code, planned_hole.crew_code
    ),

    pace as (
        select
            site_code,
            crew_code,
            sum(installations)
            / sum(sum(installations)) over (partition by site_code) as share
        from tally
        where
            installed_on >= pace_from_on::date
            and installed_on < from_on::date
            and (anchor_sizes is null or list_contains(anchor_sizes, anchor_size))
        group by site_code, crew_code
    )

    select
        plan.site_code,
        coalesce(plan.crew_code, pace.crew_code) as crew_code,
        sum(plan.hole_count * coalesce(pace.share, 1)) as hole_count
    from plan
    left join pace
        on plan.crew_code is null and plan.site_code = pace.site_code
    group by plan.site_code, coalesce(plan.crew_code, pace.crew_code);
