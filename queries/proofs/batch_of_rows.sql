-- title: Every batch that is counted for its signs has rows
-- when: verify
with counted as (
    select
        site_code,
        crew_code,
        installed_on
    from batch_tally
    union
    select
        site_code,
        crew_code,
        installed_on
    from batch_time_tally
),

held as (
    select
        site_code,
        crew_code,
        installed_on
    from tally
)

select
    concat_ws(' ', site_code, crew_code, installed_on) as subject,
    'counted, without a row' as found,
    'no count' as expected
from (
    select * from counted
    except
    select * from held
);
