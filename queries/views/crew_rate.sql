-- Rates of every check by crew, over all its sites, all data.
-- Grain: one row per crew and check.
-- Reads: rate (its header defines every count and rate).
create or replace view crew_rate as
select
    crew,
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
from rate(['crew'], null, null, null, null, null, null);
