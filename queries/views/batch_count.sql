-- What the signs of batch_sign in torques and measured values are counted from: what
-- batch_tally holds. Grain: one row per batch (site, crew and day), setting data and
-- wrench ('' where none is logged), of the batches that batch_row takes. Reads:
-- batch_row, tally, installation, reading_step.
--
-- torques: readings; on_step: those on multiples of each step of reading_step, by its
-- place. place_mean and square_sum: of where torques inside the band lie in it, from 0
-- to 1, and of their squared distances from that mean.
create or replace macro batch_count(from_on, to_on, batch_keys) as table
    with counted as (
        select
            batch_key,
            gauge_key,
            count(hundredths_or_none)::integer as torques,
            coalesce(count_if(not is_inside), 0)::integer as outside,
            coalesce(count_if(is_at_edge), 0)::integer as at_edge,
            [
                coalesce(count_if(hundredths_or_none % 10000 = 0), 0)::integer,
                coalesce(count_if(hundredths_or_none % 5000 = 0), 0)::integer,
                coalesce(count_if(hundredths_or_none % 2000 = 0), 0)::integer,
                coalesce(count_if(hundredths_or_none % 1000 = 0), 0)::integer,
                coalesce(count_if(hundredths_or_none % 500 = 0), 0)::integer,
                coalesce(count_if(hundredths_or_none % 200 = 0), 0)::integer,
                coalesce(count_if(hundredths_or_none % 100 = 0), 0)::integer,
                coalesce(count_if(hundredths_or_none % 50 = 0), 0)::integer,
                coalesce(count_if(hundredths_or_none % 20 = 0), 0)::integer,
                coalesce(count_if(hundredths_or_none % 10 = 0), 0)::integer,
                coalesce(count_if(hundredths_or_none % 5 = 0), 0)::integer,
                coalesce(count_if(hundredths_or_none % 2 = 0), 0)::integer,
                coalesce(count_if(hundredths_or_none >= 0), 0)::integer
            ] as on_step,
            count(repeats_torque)::integer as may_repeat_torque,
            coalesce(count_if(repeats_torque), 0)::integer as repeat_torque,
            count(repeats_record)::integer as may_repeat_record,
            coalesce(count_if(repeats_record), 0)::integer as repeat_record,
            coalesce(count_if(is_inside), 0)::integer as inside,
            avg(place_frac) filter (is_inside) as place_mean,
            var_pop(place_frac) filter (is_inside) * count_if(is_inside) as square_sum
        from (
            select
                *,
                -- A torque in whole hundredths of a newton metre; -1 beside them.
                if(
                    abs(torque_nm * 100 - round(torque_nm * 100)) < 1e-4,
                    least(round(torque_nm * 100), 9e15)::bigint,
                    if(torque_nm is null, null, -1)
                ) as hundredths_or_none
            from batch_row(from_on, to_on, batch_keys)
        )
        group by batch_key, gauge_key
    ),

    gauge_of as (
        select
            hash(site_code, setting_code, coalesce(wrench_code, '')) as gauge_key,
            any_value(setting_code) as setting_code,
            any_value(coalesce(wrench_code, '')) as wrench_code
        from installation
        where
            installed_on between from_on and to_on
            and hash(site_code, crew_code, installed_on) in (
                select unnest(batch_keys)
            )
        group by gauge_key
    ),

    batch as (
        select distinct
            site_code,
            crew_code,
            installed_on
        from tally
        where installed_on between from_on and to_on
    )

    select
        batch.site_code,
        batch.crew_code,
        batch.installed_on,
        gauge_of.setting_code,
        gauge_of.wrench_code,
        counted.* exclude (batch_key, gauge_key)
    from counted
    inner join batch
        on
            counted.batch_key
            = hash(batch.site_code, batch.crew_code, batch.installed_on)
    inner join gauge_of on counted.gauge_key = gauge_of.gauge_key;
