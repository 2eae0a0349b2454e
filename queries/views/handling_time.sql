-- Seconds logged for cleaning a hole and for setting its anchor. Grain: one row per
-- step ('cleaning', 'setting'), anchor_size and drill_method that have any. mean_s is
-- of all such anchors; low_s and high_s the lowest and the highest mean of a site,
-- which is what a new site may differ by. Abandoned attempts are in none.
-- Reads: drilled_hole.
create or replace view handling_time as
with logged as (
    select
        anchor_size,
        drill_method,
        site_code,
        count(cleaning_s) as cleaning_anchors,
        count(setting_s) as setting_anchors,
        sum(cleaning_s) as cleaning_s,
        sum(setting_s) as setting_s
    from drilled_hole
    group by anchor_size, drill_method, site_code
),

by_site as (
    select
        anchor_size,
        drill_method,
        'cleaning' as step,
        cleaning_anchors as anchors,
        cleaning_s as total_s
    from logged
    union all
    select
        anchor_size,
        drill_method,
        'setting' as step,
        setting_anchors as anchors,
        setting_s as total_s
    from logged
)

select
    step,
    anchor_size,
    drill_method,
    sum(anchors)::bigint as anchors,
    count(*) as sites,
    sum(total_s) / sum(anchors) as mean_s,
    min(total_s / anchors) as low_s,
    max(total_s / anchors) as high_s
from by_site
where anchors > 0
group by step, anchor_size, drill_method;
