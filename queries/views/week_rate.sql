-- Rates of every check by ISO week, all data. Grain: one row per week and check.
-- Reads: rate (its header defines every count and rate).
create or replace view week_rate as
select
    week,
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
from rate(['week'], null, null, null, null, null, null);
