-- Rates of counted checks: what every rate of this house means. `counts` names a
-- relation with a row per group, period_on and check_name, and in it installations,
-- judged, nonconforming, unrecorded, unreadable, undecided. Grain: its own.
-- Reads: the relation it is given.
--
-- judged = conforming + nonconforming; rate = nonconforming / judged, NULL where
-- nothing was judged (never 0). Unrecorded and unreadable checks are in no rate: the
-- range of truth says what it could be if all of them conformed, or none did.
-- Weeks are ISO 8601 weeks of the site's own date.
create or replace macro rate_of_count(counts, by_keys) as table
    select
        site,
        crew,
        anchor_size,
        drill_method,
        orientation,
        inspector,
        if(list_contains(by_keys, 'week'), strftime(period_on, '%G-W%V'), null) as week,
        if(list_contains(by_keys, 'month'), strftime(period_on, '%Y-%m'), null)
            as month,
        check_name as "check",
        installations,
        judged,
        nonconforming,
        unrecorded,
        unreadable,
        installations - judged - unrecorded - unreadable as inapplicable,
        nonconforming / nullif(judged, 0) as rate,
        wilson_low(nonconforming, judged) as low,
        wilson_high(nonconforming, judged) as high,
        nonconforming / nullif(judged + unrecorded + unreadable, 0)
            as rate_if_unrecorded_conform,
        (nonconforming + undecided)
        / nullif(judged + unrecorded + unreadable, 0) as rate_if_unrecorded_not
    from query_table(counts);
