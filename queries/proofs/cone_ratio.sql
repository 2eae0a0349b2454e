-- title: Every stored cone ratio is the one that its row and setting data give
-- when: verify
-- Of an abandoned attempt there is none.
select
    installation.site_code || ' record ' || installation.record_id as subject,
    coalesce(installation.cone_ratio::varchar, 'none') as found,
    coalesce(
        cone_ratio(part.embedment_ratio, part.edge_ratio)::varchar, 'none'
    ) as expected
from installation
left join indicative_ratio as part
    on
        installation.source_file_id = part.source_file_id
        and installation.source_row = part.source_row
where
    installation.cone_ratio
    is distinct from cone_ratio(part.embedment_ratio, part.edge_ratio);
