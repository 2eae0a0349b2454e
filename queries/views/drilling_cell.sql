-- Sums of squares and products of log drilling time over the attempts used: all that a
-- mixed model needs of them, exact, in one pass. Grain: one row per crew of a site,
-- diameter, method, orientation, the yes/no terms, and a step of 0.2 in log(s per mm),
-- so that residuals can be told apart afterwards. z = log(depth / 100 mm), w = metres
-- drilled with the bit (0 where not known), c = log(strength / 30 MPa) (0 where not
-- known), y = log seconds. A rounded time t of step d is the interval t - d/2 to
-- t + d/2: y is the mean of the logarithm over it, v the variance. Reads:
-- timed_attempt, bit_day.
create or replace view drilling_cell as
with term as (
    select
        attempt.*,
        bit_day.bit_m,
        ln(attempt.hole_depth_mm / 100) as z,
        coalesce(bit_day.bit_m, 0) as w,
        coalesce(ln(attempt.concrete_mpa / 30), 0) as c,
        if(step_s > 0, mean_log(drill_s, step_s), ln(drill_s)) as y,
        step_s * step_s / (12 * drill_s * drill_s) as v
    from timed_attempt as attempt
    left join bit_day
        on
            attempt.bit_code = bit_day.bit_code
            and attempt.installed_on = bit_day.installed_on
            and attempt.site_code = bit_day.site_code
    where attempt.fate = 'used'
)

select
    site_code,
    crew_code,
    drill_diameter_mm,
    drill_method,
    orientation,
    is_abandoned,
    is_through_rebar,
    is_worn,
    bit_m is null as is_bit_unknown,
    concrete_mpa is null as is_strength_unknown,
    floor(5 * (y - z))::integer as speed_bin,
    count(*) as n,
    sum(z) as sum_z,
    sum(w) as sum_w,
    sum(c) as sum_c,
    sum(y) as sum_y,
    sum(z * z) as sum_zz,
    sum(z * w) as sum_zw,
    sum(z * c) as sum_zc,
    sum(z * y) as sum_zy,
    sum(w * w) as sum_ww,
    sum(w * c) as sum_wc,
    sum(w * y) as sum_wy,
    sum(c * c) as sum_cc,
    sum(c * y) as sum_cy,
    sum(y * y) as sum_yy,
    sum(v) as sum_v
from term
group by all;
