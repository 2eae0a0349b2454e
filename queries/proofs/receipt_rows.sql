-- title: Every receipt counts the rows that are held from its file
-- when: publish
-- A held row is loaded or revised; one that was said again, duplicate; the rest stand
-- in rejected_row. A file that was taken back holds nothing.
with held as (
    select
        source_file_id,
        count(*) as rows_held
    from (
        select source_file_id from installation
        union all
        select source_file_id from superseded_installation
    )
    group by source_file_id
),

again as (
    select
        source_file_id,
        count(*) as rows_again
    from repeated_row
    group by source_file_id
),

rejected as (
    select
        source_file_id,
        count(*) as rows_rejected
    from rejected_row
    group by source_file_id
),

counted as (
    select
        source_file.source_file_id,
        source_file.file_name,
        source_file.unloaded_at is null as is_there,
        source_file.loaded + source_file.revised as said_held,
        source_file.duplicate as said_again,
        source_file.rejected as said_rejected,
        coalesce(held.rows_held, 0) as rows_held,
        coalesce(again.rows_again, 0) as rows_again,
        coalesce(rejected.rows_rejected, 0) as rows_rejected
    from source_file
    left join held on source_file.source_file_id = held.source_file_id
    left join again on source_file.source_file_id = again.source_file_id
    left join rejected on source_file.source_file_id = rejected.source_file_id
    where source_file.content = 'installations'
)

select
    'receipt ' || source_file_id || ' (' || file_name || ')' as subject,
    rows_held || ' held, ' || rows_again || ' said again, ' || rows_rejected
    || ' rejected' as found,
    if(
        is_there,
        said_held || ' held, ' || said_again || ' said again, ' || said_rejected
        || ' rejected',
        'nothing held: taken back'
    ) as expected
from counted
where
    if(is_there, said_held, 0) != rows_held
    or if(is_there, said_again, 0) != rows_again
    or (is_there and said_rejected != rows_rejected);
