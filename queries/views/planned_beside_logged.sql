-- Planned holes beside the anchors logged of them. Grain: one row per site and setting
-- code of which any hole is planned in the days given. Reads: planned_hole,
-- setting_data, tally.
--
-- planned: holes of the plans that are due, those that lie in the days given and end
-- by the last day that the site's log reaches; logged: anchors (attempts that were
-- abandoned are none) on their days, and on days that no plan covers, until late_days
-- after the last of one of them; ahead: holes of the other plans, which only touch
-- those days or of which the log does not reach the end. What is logged on days of such
-- plans alone counts for none that is due. Nor is a plan whose setting data are not
-- loaded, which has no anchor_size: no log can name them. Crews, methods and
-- orientations of plans are left aside: who sets an anchor, and how, may change. A NULL
-- filter means all.
create or replace macro planned_beside_logged(
    from_on, to_on, late_days, site_codes, anchor_sizes
) as table
    with reach as (
        select
            site_code,
            max(installed_on) as logged_to_on
        from tally
        group by site_code
    ),

    plan as (
        select
            planned_hole.site_code,
            planned_hole.setting_code,
            anchor_size,
            planned_from_on,
            planned_to_on,
            hole_count,
            anchor_size is not null
            and coalesce(planned_to_on <= logged_to_on, false)
            and (from_on is null or planned_from_on >= from_on::date)
            and (to_on is null or planned_to_on <= to_on::date) as is_due
        from planned_hole
        left join setting_data
            on planned_hole.setting_code = setting_data.setting_code
        left join reach on planned_hole.site_code = reach.site_code
        where
            (
                site_codes is null
                or list_contains(site_codes, planned_hole.site_code)
            )
            and (anchor_sizes is null or list_contains(anchor_sizes, anchor_size))
    ),

    planned as (
        select
            site_code,
            setting_code,
            anchor_size,
            min(planned_from_on) filter (where is_due) as first_on,
            max(planned_to_on) filter (where is_due) as last_on,
            coalesce(sum(hole_count) filter (where is_due), 0)::bigint as planned,
            coalesce(
                sum(hole_count) filter (
                    where not is_due
                    and (from_on is null or planned_to_on >= from_on::date)
                    and (to_on is null or planned_from_on <= to_on::date)
                ),
                0
            )::bigint as ahead
        from plan
        group by site_code, setting_code, anchor_size
    ),

    -- Every anchor counts once in the tally under any_check, as it is answered.
    anchor_day as (
        select
            tally.site_code,
            tally.setting_code,
            installed_on,
            sum(
                any_check_judged + any_check_unrecorded + any_check_unreadable
            ) as anchors
        from tally
        inner join planned
            on
                tally.site_code = planned.site_code
                and tally.setting_code = planned.setting_code
        where installed_on between first_on and last_on + late_days::integer
        group by tally.site_code, tally.setting_code, installed_on
    ),

    covered_day as (
        select
            anchor_day.site_code,
            anchor_day.setting_code,
            anchor_day.installed_on,
            any_value(anchors) as anchors,
            -- On a day of no plan it is late, of a plan that ended before.
            coalesce(
                bool_or(is_due) filter (where installed_on <= planned_to_on),
                bool_or(is_due)
            ) as counts
        from anchor_day
        inner join plan
            on
                anchor_day.site_code = plan.site_code
                and anchor_day.setting_code = plan.setting_code
                and installed_on
                between planned_from_on and planned_to_on + late_days::integer
        group by
            anchor_day.site_code, anchor_day.setting_code, anchor_day.installed_on
    ),

    logged as (
        select
            site_code,
            setting_code,
            sum(anchors)::bigint as logged
        from covered_day
        where counts
        group by site_code, setting_code
    )

    select
        planned.site_code,
        planned.setting_code,
        anchor_size,
        first_on,
        last_on,
        planned,
        coalesce(logged, 0) as logged,
        ahead
    from planned
    left join logged
        on
            planned.site_code = logged.site_code
            and planned.setting_code = logged.setting_code
    where planned > 0 or ahead > 0;
