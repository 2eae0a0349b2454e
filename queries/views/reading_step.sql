-- The steps that a gauge may be read in, and ten times these. Grain: one row per step;
-- place counts from 1 and is where batch_tally.on_step counts the readings on it.
create or replace view reading_step as
select
    generate_subscripts(steps, 1)::integer as place,
    unnest(steps)::double as step_nm
from (select [100, 50, 20, 10, 5, 2, 1, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01] as steps);
