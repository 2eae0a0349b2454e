-- title: Anchor length
-- unit: mm
-- nonconforming: The installed length differs from the specified length by more
--     than 1 mm. With a length mark only: the mark is not the specified one and the
--     lengths it stands for lie wholly on one side of the specified length.
-- unrecorded: Neither a length nor a length mark that decides it was logged.
-- source: Setting data (anchor length, length mark). 1 mm: common practice, no
--     source. Letters A to Z as intervals of inches: from memory of US practice
--     (ICC-ES AC193, ACI 355.2). They hold where the specified length lies in its own
--     mark's interval, or for an inch size without a mark; any other mark is the
--     maker's and has no common table.
select
    -- Where only a mark was logged, from and to differ: the longest that the bolt can
    -- be, and the shortest, against what is specified.
    margin_over(logged.length_to_mm, required.anchor_length_mm - 1) as above_shortest,
    margin_over(required.anchor_length_mm + 1, logged.length_from_mm) as below_longest,
    logged.anchor_length_mm is null as is_by_mark,
    -- How much of the 1 mm is left. Only for a measured length.
    if(is_by_mark, null, least(above_shortest, below_longest)) as margin,
    verdict_of(
        false,
        case
            when margin is not null then margin >= 0
            when logged.length_mark = required.length_mark then true
            -- A mark stands for lengths up to but not including the longer one.
            when above_shortest <= 0 or below_longest < 0 then false
        end,
        unreadable.anchor_length_mm
    ) as verdict,
    case
        when verdict = 'nonconforming' and above_shortest <= 0 then 'short'
        when verdict = 'nonconforming' then 'long'
    end as direction,
    concat(
        coalesce(
            'length ' || in_words(logged.anchor_length_mm, 'mm'),
            'length mark ' || logged.length_mark,
            'no length logged'
        ),
        if(
            is_by_mark and logged.length_from_mm is not null,
            ' (' || in_number(logged.length_from_mm) || ' to under '
            || in_words(logged.length_to_mm, 'mm') || ')',
            ''
        ),
        ', ', in_number(required.anchor_length_mm), ' specified',
        if(is_by_mark, coalesce(' (mark ' || required.length_mark || ')', ''), '')
    ) as words
from logged inner join required on logged.setting_code = required.setting_code
