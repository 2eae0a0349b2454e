-- Rates of every check by site, all data. Grain: one row per site and check.
-- Reads: rate (its header defines every count and rate).
create or replace view site_rate as
select
    site,
    "check",
    installations,
    judged,
    nonconforming,
    unrecorded,
    unreadable,
    inapplicable,
    rate,
    low,
    high,
    rate_if_unrecorded_conform,
    rate_if_unrecorded_not
from rate(['site'], null, null, null, null, null, null);
