-- title: Every receipt tells rows that were first of their record from later revisions
-- when: verify
with held as (
    select
        site_code,
        record_id,
        revision,
        source_file_id,
        source_row
    from installation
    union all
    select
        site_code,
        record_id,
        revision,
        source_file_id,
        source_row
    from superseded_installation
),

revised as (
    select
        source_file_id,
        count(*) as rows_revised
    from (
        select source_file_id from held
        qualify row_number() over (
            partition by site_code, record_id
            order by source_file_id, revision, source_row
        ) > 1
    )
    group by source_file_id
)

select
    'receipt ' || source_file.source_file_id as subject,
    coalesce(revised.rows_revised, 0) || ' rows held as a later revision' as found,
    source_file.revised || ' revised' as expected
from source_file
left join revised on source_file.source_file_id = revised.source_file_id
where
    source_file.content = 'installations'
    and source_file.unloaded_at is null
    and source_file.revised != coalesce(revised.rows_revised, 0);
