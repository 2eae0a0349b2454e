-- title: A record is held once, by its highest revision, and a revision once
-- when: verify
with held as (
    select
        site_code,
        record_id,
        revision,
        true as is_current
    from installation
    union all
    select
        site_code,
        record_id,
        revision,
        false as is_current
    from superseded_installation
),

summed as (
    select
        site_code,
        record_id,
        count(*) as rows_held,
        count(distinct revision) as revisions,
        count(*) filter (is_current) as current_rows,
        max(revision) as highest,
        max(revision) filter (is_current) as current_revision
    from held
    group by site_code, record_id
    having
        count(*) != count(distinct revision)
        or count(*) filter (is_current) != 1
        or max(revision) != max(revision) filter (is_current)
)

select
    site_code || ' record ' || record_id as subject,
    rows_held || ' rows, ' || revisions || ' revisions, ' || current_rows
    || ' current, at revision ' || coalesce(current_revision::varchar, 'none') as found,
    'a row a revision, one current, at revision ' || highest as expected
from summed;
