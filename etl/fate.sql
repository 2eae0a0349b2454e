-- The body of the table macro fate_of(without_file).
-- What becomes of the rows of records that are named more than once. A claim is a row
-- that says what a record was at a revision: held, said again, or in conflict.
-- Reads claim (record_id, revision, source_file_id, source_row, content, place) and
-- content_rank (record_id, revision, content, content_rank), which has a row only
-- where one revision has several contents. Grain: one row a claim; the claims of
-- without_file are left out.
--   content: of several under one revision that of rank 1 is held, the others conflict
--   held: the first to bring that content; the others said it again: duplicate
--   held, and the highest revision of its record: current; else superseded
--   loaded is the record's first held row; any further revision, newer or older, is
--   revised
-- Everything but which file is called first depends on the claims alone, not on the
-- order in which they came.
with considered as (
    select
        claim.record_id,
        claim.revision,
        claim.source_file_id,
        claim.source_row,
        claim.place,
        dense_rank() over (
            partition by claim.record_id, claim.revision
            order by coalesce(content_rank.content_rank, 1)
        ) = 1 as is_chosen
    from claim
    left join content_rank
        on
            claim.record_id = content_rank.record_id
            and claim.revision = content_rank.revision
            and claim.content = content_rank.content
    where claim.source_file_id is distinct from without_file
),

arrived as (
    select
        *,
        is_chosen and row_number() over (
            partition by record_id, revision, is_chosen
            order by source_file_id, source_row
        ) = 1 as is_held
    from considered
),

placed as (
    select
        *,
        is_held and revision = max(revision) over (partition by record_id)
            as is_current,
        is_held and row_number() over (
            partition by record_id, is_held
            order by source_file_id, revision, source_row
        ) = 1 as is_first
    from arrived
)

select
    record_id,
    revision,
    source_file_id,
    source_row,
    place,
    case
        when is_first then 'loaded'
        when is_held then 'revised'
        when is_chosen then 'duplicate'
        else 'rejected'
    end as fate,
    case
        when is_current then 'installation'
        when is_held then 'superseded_installation'
        when is_chosen then 'repeated_row'
        else 'conflicting_installation'
    end as place_after
from placed
