-- What the signs of batch_sign in torques and measured values are counted from. Grain:
-- one row per batch (site, crew and day), setting data and gauge step of these sites
-- (NULL: all). Reads: batch_row. square_sum: of the distances of torques inside the
-- band from their mean, in parts of the band.
create or replace macro batch_count(sites) as table
    select
        batch_key,
        setting_key,
        step_nm,
        count(is_inside) as torques,
        count_if(not is_inside) as outside,
        count_if(is_at_edge) as at_edge,
        count(is_round) as may_round,
        count_if(is_round) as is_round,
        count(repeats_torque) as may_repeat_torque,
        count_if(repeats_torque) as repeat_torque,
        count(repeats_record) as may_repeat_record,
        count_if(repeats_record) as repeat_record,
        count_if(is_inside) as inside,
        var_pop(place_frac) filter (is_inside) * count_if(is_inside) as square_sum,
        -- Where the step is not known, a hundredth of the band.
        coalesce(step_nm / any_value(width_nm), 0.01) as step_frac
    from batch_row(sites)
    group by batch_key, setting_key, step_nm;
