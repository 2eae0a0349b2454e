-- Rates of every check by anchor size (sort by diameter_mm), all data.
-- Grain: one row per anchor_size and check.
-- Reads: rate (its header defines every count and rate).
create or replace view anchor_size_rate as
select
    anchor_size,
    diameter_mm,
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
from rate(['anchor_size'], null, null, null, null, null, null);
