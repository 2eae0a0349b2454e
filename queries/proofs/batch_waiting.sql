-- title: No batch waits to be counted for its signs
-- when: publish
select
    concat_ws(' ', site_code, crew_code, installed_on) as subject,
    'waiting to be counted' as found,
    'counted' as expected
from stale_batch;
