-- What becomes of the rows of records that a file names more than once, or that the
-- ledger holds already. Reads contested: one row per row of such a record, in the file
-- (source_file_id NULL) or in the ledger, with revision, content (a struct of all
-- canonical values) and source_row. Grain of fate: one row per row of contested.
--   first of a (record, revision): kept; the ledger's own row counts as the first
--   the same content again: duplicate
--   other content under the same revision: conflict, rejected
--   kept, and the highest revision of its record: current; else superseded
create or replace temp table fate as
with ordered as (
    select
        *,
        row_number() over (
            partition by record_id, revision
            order by source_file_id nulls last, source_row
        ) as arrival,
        first_value(content) over (
            partition by record_id, revision
            order by source_file_id nulls last, source_row
        ) as first_content
    from contested
),

kept as (
    select
        record_id,
        source_file_id,
        source_row,
        revision = max(revision) over (partition by record_id) as is_current,
        row_number() over (
            partition by record_id order by source_file_id nulls last, revision
        ) = 1 as is_first
    from ordered
    where arrival = 1
)

select
    ordered.record_id,
    ordered.revision,
    ordered.source_file_id,
    ordered.source_row,
    coalesce(kept.is_current, false) as is_current,
    case
        when kept.source_row is not null and kept.is_first then 'loaded'
        when kept.source_row is not null then 'revised'
        when ordered.content is not distinct from ordered.first_content
            then 'duplicate'
        else 'conflict'
    end as fate
from ordered
left join kept
    on
        ordered.record_id = kept.record_id
        and ordered.source_file_id is not distinct from kept.source_file_id
        and ordered.source_row = kept.source_row;
