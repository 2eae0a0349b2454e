-- What becomes of the rows of records that a file names more than once, or that the
-- ledger held already. Reads contested: one row per row of such a record, with
-- is_new (it is of this file), revision, content (a struct of all canonical values)
-- and source_row. Grain of fate: one row per row of contested.
--   first of a (record, revision): kept; the row held already counts as the first
--   the same content again: duplicate (structs compare equal where both hold NULL)
--   other content under the same revision: conflict, rejected
--   kept, and the highest revision of its record: current; else superseded
--   loaded is the record's first row; any further revision, newer or older, is revised
create or replace temp table fate as
with ordered as (
    select
        *,
        row_number() over same_revision as arrival,
        first_value(content) over same_revision as first_content
    from contested
    window same_revision as (
        partition by record_id, revision
        order by is_new, source_row
    )
),

kept as (
    select
        record_id,
        source_file_id,
        source_row,
        revision = max(revision) over (partition by record_id) as is_current,
        row_number() over (
            partition by record_id order by is_new, revision
        ) = 1 as is_first
    from ordered
    where arrival = 1
)

select
    ordered.record_id,
    ordered.revision,
    ordered.source_file_id,
    ordered.source_row,
    ordered.is_new,
    coalesce(kept.is_current, false) as is_current,
    case
        when kept.source_row is not null and kept.is_first then 'loaded'
        when kept.source_row is not null then 'revised'
        when ordered.content = ordered.first_content then 'duplicate'
        else 'conflict'
    end as fate
from ordered
left join kept
    on
        ordered.record_id = kept.record_id
        and ordered.source_file_id = kept.source_file_id
        and ordered.source_row = kept.source_row;
