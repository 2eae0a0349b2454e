-- title: Every code that a row uses is known
-- when: verify
-- Crew and inspector codes are known by the spellings that the files brought.
with used as (
    select
        'site_code' as column_name,
        site_code as code
    from installation
    union
    select
        'setting_code' as column_name,
        setting_code as code
    from installation
    union
    select
        'crew_code' as column_name,
        crew_code as code
    from installation
    union
    select
        'inspector_code' as column_name,
        inspector_code as code
    from installation
    where inspector_code is not null
),

known as (
    select
        'site_code' as column_name,
        site_code as code
    from site
    union
    select
        'setting_code' as column_name,
        setting_code as code
    from setting_data
    union
    select
        column_name,
        spelling as code
    from code_spelling
    where column_name in ('crew_code', 'inspector_code')
)

select
    column_name as subject,
    code as found,
    'a code that is known' as expected
from (
    select * from used
    except
    select * from known
);
