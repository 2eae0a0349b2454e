-- What of a batch (the rows of one site, crew and day) can be held against the other
-- crews' batches. Grain: one row per batch and sign with anything to count, of these
-- sites (NULL: all). Reads: batch_count.
--
-- found of so many rows (row_count) show the sign. peer_share is the share of such rows
-- among the site's other crews, (k + 1/2) / (n + 1), for rows alike: of the same setting
-- data and gauge step, for time signs of a batch of about the same size; averaged over
-- the rows. peer_doubt averages 1 / (n + 2): how little is known of that share. Rows
-- with fewer than 20 peers are not counted.
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
    with batch as materialized (select * from batch_count(sites)),

    long as (
        select
            site_code,
            crew_code,
            installed_on,
            hash(setting_key, step_nm) as alike,
            floor(log2(stamped_count)) as size_class,
            outside,
            unnest([
                {sign: 'edge', found: at_edge, rows: torques},
                {sign: 'round', found: is_round, rows: may_round},
                {sign: 'torque', found: repeat_torque, rows: may_repeat_torque},
                {sign: 'record', found: repeat_record, rows: may_repeat_record},
                {sign: 'pace', found: impossible_pace, rows: may_pace},
                {sign: 'stamp', found: stamped_late, rows: may_stamp}
            ]) as one
        from batch
    ),

    counted as materialized (
        select
            site_code,
            crew_code,
            installed_on,
            if(one.sign in ('pace', 'stamp'), hash(site_code, size_class), alike)
                as alike,
            one.sign as sign,
            sum(one.found) as found,
            sum(one.rows) as row_count,
            sum(outside) as outside
        from long
        where one.rows > 0
        group by all
    ),

    of_crew as materialized (
        select
            site_code,
            crew_code,
            alike,
            sign,
            sum(found) as found,
            sum(row_count) as row_count,
            sum(outside) as outside
        from counted
        group by site_code, crew_code, alike, sign
    ),

    of_site as (
        select
            alike,
            sign,
            sum(found) as found,
            sum(row_count) as row_count
        from of_crew
        group by alike, sign
    ),

    peers as (
        select
            of_crew.crew_code,
            of_crew.alike,
            of_crew.sign,
            greatest(
                (of_site.found - of_crew.found + 0.5)
                / (of_site.row_count - of_crew.row_count + 1),
                if(of_crew.sign = 'edge', of_crew.outside / of_crew.row_count, 0)
            )::double as peer_share,
            (1 / (of_site.row_count - of_crew.row_count + 2))::double as peer_doubt
        from of_crew
        inner join of_site
            on of_crew.alike = of_site.alike and of_crew.sign = of_site.sign
        where of_site.row_count - of_crew.row_count >= 20
    )

    select
        counted.site_code,
        counted.crew_code,
        counted.installed_on,
        counted.sign,
        sum(counted.found)::bigint as found,
        sum(counted.row_count)::bigint as row_count,
        sum(counted.row_count * peers.peer_share) / sum(counted.row_count)
            as peer_share,
        sum(counted.row_count * peers.peer_doubt) / sum(counted.row_count)
            as peer_doubt,
        null::bigint as freedom,
        null::double as spread_frac2,
        null::double as step_frac2
    from counted
    inner join peers
        on
            counted.crew_code = peers.crew_code
            and counted.alike = peers.alike
            and counted.sign = peers.sign
    group by
        counted.site_code, counted.crew_code, counted.installed_on, counted.sign
    union all
    select
        site_code,
        crew_code,
        installed_on,
        'spread' as sign,
        null as found,
        null as row_count,
        null as peer_share,
        null as peer_doubt,
        sum(inside - 1)::bigint as freedom,
        sum(square_sum) / sum(inside - 1) as spread_frac2,
        sum((inside - 1) * step_frac ** 2 / 12) / sum(inside - 1) as step_frac2
    from batch
    where inside >= 2
    group by site_code, crew_code, installed_on;
