-- title: Every row is of a file that has a receipt and was not taken back
-- when: publish
with known as (
    select source_file_id
    from source_file
    where unloaded_at is null
),

used as (
    select
        'installation' as place,
        source_file_id
    from installation
    union
    select
        'superseded_installation' as place,
        source_file_id
    from superseded_installation
    union
    select
        'conflicting_installation' as place,
        source_file_id
    from conflicting_installation
    union
    select
        'repeated_row' as place,
        source_file_id
    from repeated_row
    union
    select
        'field_fault' as place,
        source_file_id
    from field_fault
)

select
    place as subject,
    'rows of file ' || source_file_id as found,
    'a receipt of that number that was not taken back' as expected
from used
where source_file_id not in (select source_file_id from known);
