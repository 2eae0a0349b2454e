-- What of a batch (the rows of one site, crew and day) can be held against the other
-- crews' batches. Grain: one row per batch and sign with anything to count, of these
-- sites (NULL: all). Reads: batch_count, batch_time, tally.
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
--   round   torque at a multiple of ten steps of its gauge
--   torque  torque repeats that of the row before of the same setting data
--   record  so do all measured values, three or more
--   pace    less time since the anchor before than drilling this hole took
--   stamp   stamped within ten minutes of the batch's last stamp, itself left out
--   spread  no counts, but how much torques inside the band vary: spread_frac2, the
--           mean square distance from the mean of the same setting data over freedom
--           (torques less their means), in squared parts of the band (0.2 of a band is
--           0.04); step_frac2, what rounding to the gauge's step puts into it, step^2 /
--           12 (Sheppard). Torques outside count elsewhere
create or replace macro batch_sign(sites) as table
    with batch as materialized (
        select
            site_code,
            crew_code,
            installed_on,
            hash(site_code, crew_code, installed_on) as batch_key,
            hash(site_code, crew_code) as crew_key
        from tally
        where sites is null or list_contains(sites, site_code)
        group by site_code, crew_code, installed_on
    ),

    part as materialized (
        select
            counted.*,
            batch.crew_key,
            hash(counted.setting_key, counted.step_nm) as alike
        from batch_count(sites) as counted
        inner join batch on counted.batch_key = batch.batch_key
    ),

    of_time as (
        select
            batch_key,
            count(*) as stamped_count,
            count(is_impossible_pace) as may_pace,
            count_if(is_impossible_pace) as impossible_pace,
            count(is_stamped_late) as may_stamp,
            count_if(is_stamped_late) as stamped_late
        from batch_time(sites)
        group by batch_key
    ),

    long as (
        select
            batch_key,
            crew_key,
            alike,
            outside,
            unnest([
                { sign: 'edge', found: at_edge, rows: torques },
                { sign: 'round', found: is_round, rows: may_round },
                { sign: 'torque', found: repeat_torque, rows: may_repeat_torque },
                { sign: 'record', found: repeat_record, rows: may_repeat_record }
            ]) as one
        from part
        union all
        select
            of_time.batch_key,
            batch.crew_key,
            hash(batch.site_code, floor(log2(of_time.stamped_count))) as alike,
            0 as outside,
            unnest([
                {
                    sign: 'pace',
                    found: of_time.impossible_pace,
                    rows: of_time.may_pace
                },
                {
                    sign: 'stamp',
                    found: of_time.stamped_late,
                    rows: of_time.may_stamp
                }
            ]) as one
        from of_time
        inner join batch on of_time.batch_key = batch.batch_key
        where of_time.stamped_count >= 2
    ),

    counted as materialized (
        select
            batch_key,
            crew_key,
            hash(alike, one.sign) as alike,
            one.sign,
            one.found::bigint as found,
            one.rows::bigint as row_count,
            outside
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
            sum(counted.row_count * peers.share) / sum(counted.row_count)
                as peer_share,
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
