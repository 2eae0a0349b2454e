-- title: Every stored hash of a record's number is the one that the number gives
-- when: verify
-- As record_hash_sql of queries/record_hash.py has it. A load would not see that a
-- record with another hash is held.
with held as (
    select
        site_code,
        record_id,
        record_hash
    from installation
    union all
    select
        site_code,
        record_id,
        record_hash
    from superseded_installation
    union all
    select
        site_code,
        record_id,
        record_hash
    from conflicting_installation
),

hashed as (
    select
        site_code,
        record_id,
        record_hash,
        hash(record_id) & 4294967295 as right_hash
    from held
)

select
    site_code || ' record ' || record_id as subject,
    record_hash::varchar as found,
    right_hash::varchar as expected
from hashed
where record_hash != right_hash;
