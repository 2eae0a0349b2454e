-- What of a batch (the rows of one site, crew and day) can be held against the other
-- crews' batches. Grain: one row per batch and sign with anything to count. Reads:
-- batch_tally, batch_time_tally, gauge, reading_step, requirement.
--
-- found of so many rows (row_count) show the sign. peer_share is the share of such rows
-- among the site's other crews, (k + 1/2) / (n + 1), for rows alike: of the same
-- setting data and gauge step, for time signs of a batch of about the same size;
-- averaged over the rows. peer_doubt averages 1 / (n + 2): how little is known of that
-- share. Rows with fewer than 20 peers are not counted.
--
--   edge    torque inside its band by at most a twentieth of it. An honest drift puts
--           about as many just outside: the share expected is never less than the
--           crew's own share outside, so that only bunching inside is left
--   round   torque at a multiple of ten steps of its gauge. Who sets by 60 Nm reads 60
--           more often than who sets by 55: the share expected is never less than
--           torques about the batch's own mean, that vary as the other crews' do, put
--           there
--   torque  torque repeats that of the row before of the same setting data
--   record  so do all measured values, three or more
--   pace    less time since the anchor before than drilling this hole took
--   stamp   stamped within ten minutes of the batch's last stamp, itself left out
--   spread  no counts, but how much torques inside the band vary: spread_frac2, the
--           mean square distance from the mean of the same setting data over freedom
--           (torques less their means), in squared parts of the band (0.2 of a band is
--           0.04); step_frac2, what rounding to the gauge's step puts into it, step^2 /
--           12 (Sheppard). Torques outside count elsewhere
create or replace view batch_sign as
with batch as materialized (
    select
        site_code,
        crew_code,
        installed_on,
        hash(site_code, crew_code, installed_on) as batch_key,
        hash(site_code, crew_code) as crew_key
    from batch_tally
    group by site_code, crew_code, installed_on
),

stepped as (
    select
        counted.* exclude (on_step),
        hash(counted.site_code, counted.setting_code, gauge.step_nm) as alike,
        gauge.step_nm,
        requirement.lowest_torque_nm as lowest_nm,
        requirement.highest_torque_nm - requirement.lowest_torque_nm as band_nm,
        if(gauge.step_nm is null, 0, counted.torques) as may_round,
        coalesce(counted.on_step[tens.place], 0) as is_round,
        -- Where the step is not known, a hundredth of the band.
        coalesce(gauge.step_nm / band_nm, 0.01) as step_frac
    from batch_tally as counted
    inner join requirement on counted.setting_code = requirement.setting_code
    left join gauge
        on
            counted.site_code = gauge.site_code
            and counted.setting_code = gauge.setting_code
            and counted.wrench_code = gauge.wrench_code
    left join reading_step as tens on gauge.step_nm * 10 = tens.step_nm
),

-- Wrenches of one step are taken together.
beside_mean as (
    select
        *,
        sum(inside * place_mean) over in_part / sum(inside) over in_part as part_mean
    from stepped
    window in_part as (partition by site_code, crew_code, installed_on, alike)
),

part as materialized (
    select
        hash(site_code, crew_code, installed_on) as batch_key,
        hash(site_code, crew_code) as crew_key,
        alike,
        sum(torques) as torques,
        sum(outside) as outside,
        sum(at_edge) as at_edge,
        sum(may_round) as may_round,
        sum(is_round) as is_round,
        sum(may_repeat_torque) as may_repeat_torque,
        sum(repeat_torque) as repeat_torque,
        sum(may_repeat_record) as may_repeat_record,
        sum(repeat_record) as repeat_record,
        sum(inside) as inside,
        sum(square_sum + inside * (place_mean - part_mean) ** 2) as square_sum,
        any_value(step_frac) as step_frac,
        -- In tens of steps, where these are.
        any_value(lowest_nm + part_mean * band_nm) / any_value(10 * step_nm)
            as mean_tens,
        any_value(band_nm) / any_value(10 * step_nm) as band_tens
    from beside_mean
    group by site_code, crew_code, installed_on, alike
),

varied_of_crew as (
    select
        crew_key,
        alike,
        sum(square_sum) as square_sum,
        sum(inside - 1) as freedom
    from part
    where inside > 0
    group by crew_key, alike
),

varied as (
    select
        crew_key,
        alike,
        (sum(square_sum) over of_site - square_sum)
        / (sum(freedom) over of_site - freedom) as others_frac2
    from varied_of_crew
    window of_site as (partition by alike)
    qualify sum(freedom) over of_site - freedom >= 20
),

-- The share of torques that honest setting puts on tens of steps.
on_tens as (
    select
        part.*,
        coalesce(
            share_on_tens(
                part.mean_tens,
                (varied.others_frac2 - part.step_frac ** 2 / 12) * part.band_tens ** 2
            ), 0
        ) as least_round
    from part
    left join varied
        on part.crew_key = varied.crew_key and part.alike = varied.alike
),

long as (
    select
        batch_key,
        crew_key,
        alike,
        outside,
        least_round,
        unnest([
            { sign: 'edge', found: at_edge, rows: torques },
            { sign: 'round', found: is_round, rows: may_round },
            { sign: 'torque', found: repeat_torque, rows: may_repeat_torque },
            { sign: 'record', found: repeat_record, rows: may_repeat_record }
        ]) as one
    from on_tens
    union all
    select
        hash(site_code, crew_code, installed_on) as batch_key,
        hash(site_code, crew_code) as crew_key,
        hash(site_code, floor(log2(stamped))) as alike,
        0 as outside,
        0 as least_round,
        unnest([
            { sign: 'pace', found: impossible_pace, rows: may_pace },
            { sign: 'stamp', found: stamped_late, rows: may_stamp }
        ]) as one
    from batch_time_tally
    where stamped >= 2
),

counted as materialized (
    select
        batch_key,
        crew_key,
        hash(alike, one.sign) as alike,
        one.sign,
        one.found::bigint as found,
        one.rows::bigint as row_count,
        outside,
        if(one.sign = 'round', least_round, 0) as least_share
    from long
    where one.rows > 0
),

of_crew as materialized (
    select
        crew_key,
        alike,
        any_value(sign) as sign,
        sum(found) as found,
        sum(row_count) as row_count,
        sum(outside) as outside
    from counted
    group by crew_key, alike
),

of_site as (
    select
        alike,
        sum(found) as found,
        sum(row_count) as row_count
    from of_crew
    group by alike
),

peers as (
    select
        of_crew.crew_key,
        of_crew.alike,
        greatest(
            (of_site.found - of_crew.found + 0.5)
            / (of_site.row_count - of_crew.row_count + 1),
            if(of_crew.sign = 'edge', of_crew.outside / of_crew.row_count, 0)
        )::double as share,
        (1 / (of_site.row_count - of_crew.row_count + 2))::double as doubt
    from of_crew
    inner join of_site on of_crew.alike = of_site.alike
    where of_site.row_count - of_crew.row_count >= 20
),

weighed as (
    select
        counted.batch_key,
        counted.sign,
        sum(counted.found)::bigint as found,
        sum(counted.row_count)::bigint as row_count,
        sum(counted.row_count * greatest(peers.share, counted.least_share))
        / sum(counted.row_count) as peer_share,
        sum(counted.row_count * peers.doubt) / sum(counted.row_count)
            as peer_doubt,
        null::bigint as freedom,
        null::double as spread_frac2,
        null::double as step_frac2
    from counted
    inner join peers
        on
            counted.crew_key = peers.crew_key
            and counted.alike = peers.alike
    group by counted.batch_key, counted.sign
    union all
    select
        batch_key,
        'spread' as sign,
        null as found,
        null as row_count,
        null as peer_share,
        null as peer_doubt,
        sum(inside - 1)::bigint as freedom,
        sum(square_sum) / sum(inside - 1) as spread_frac2,
        sum((inside - 1) * step_frac ** 2 / 12) / sum(inside - 1) as step_frac2
    from part
    where inside >= 2
    group by batch_key
)

select
    batch.site_code,
    batch.crew_code,
    batch.installed_on,
    weighed.sign,
    weighed.found,
    weighed.row_count,
    weighed.peer_share,
    weighed.peer_doubt,
    weighed.freedom,
    weighed.spread_frac2,
    weighed.step_frac2
from weighed
inner join batch on weighed.batch_key = batch.batch_key;
