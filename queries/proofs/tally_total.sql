-- title: The tally counts as many installations as are held
-- when: publish
with counted as (
    select
        (select coalesce(sum(installations), 0) from tally)::bigint as in_tally,
        (select count(*) from installation) as held
)

select
    'tally' as subject,
    in_tally || ' installations' as found,
    held || ' installations' as expected
from counted
where in_tally != held;
