-- title: Every row in conflict is a rejected row, and the other way round
-- when: publish
with in_conflict as (
    select
        source_file_id,
        source_row
    from conflicting_installation
),

rejected as (
    select
        rejected_row.source_file_id,
        rejected_row.source_row
    from rejected_row
    inner join source_file
        on rejected_row.source_file_id = source_file.source_file_id
    where
        rejected_row.reason_code in ('conflict', 'displaced')
        and source_file.unloaded_at is null
)

select
    'file ' || source_file_id || ' row ' || source_row as subject,
    'in conflict, not rejected' as found,
    'rejected' as expected
from (
    select * from in_conflict
    except
    select * from rejected
)
union all
select
    'file ' || source_file_id || ' row ' || source_row as subject,
    'rejected for a conflict, not kept' as found,
    'kept with its content' as expected
from (
    select * from rejected
    except
    select * from in_conflict
);
