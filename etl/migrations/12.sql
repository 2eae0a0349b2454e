-- The revision that a rejected row gives: what answers it is none below. What was
-- rejected before is taken for a first one, but for conflicts, whose rows are kept.
alter table rejected_row add column revision integer;

update rejected_row set revision = 0
where reason_code != 'unreadable_revision';

update rejected_row set revision = lost.revision
from conflicting_installation as lost
where
    rejected_row.source_file_id = lost.source_file_id
    and rejected_row.source_row = lost.source_row;
