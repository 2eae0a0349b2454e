-- title: Anchor length
-- unit: mm
-- nonconforming: The installed length differs from the specified length by more
--     than 1 mm. With a length mark only: the mark is not the specified one and the
--     lengths it stands for lie wholly on one side of the specified length.
-- unrecorded: Neither a length nor a length mark that decides it was logged.
-- source: Setting data (anchor length, length mark). 1 mm: common practice, no
--     source. Letters A to Z as intervals of inches: from memory of US practice
--     (ICC-ES AC193, ACI 355.2); metric marks have no common table.

-- How much of the 1 mm is left. Only for a measured length.
create or replace macro anchor_length_margin(logged, required) as
margin_over(1.0, abs(logged.anchor_length_mm - required.anchor_length_mm));

-- Where the log does not measure, the whole interval of the mark must be on one side.
create or replace macro anchor_length_direction(logged, required, margin) as
case
    when logged.anchor_length_mm is not null
        then
            case
                when
                    reaches(logged.anchor_length_mm - required.anchor_length_mm, -1)
                    is false then 'short'
                when
                    reaches(required.anchor_length_mm - logged.anchor_length_mm, -1)
                    is false then 'long'
            end
    when logged.length_mark = required.length_mark then null
    when reaches(required.anchor_length_mm - 1, mark_to_mm(logged.length_mark))
        then 'short'
    when reaches(mark_from_mm(logged.length_mark), required.anchor_length_mm + 1)
        then 'long'
end;

create or replace macro anchor_length_verdict(logged, required, margin) as
verdict_of(
    false,
    case
        when anchor_length_direction(logged, required, margin) is not null then false
        when logged.anchor_length_mm is not null then true
        when logged.length_mark = required.length_mark then true
    end,
    is_unreadable(logged, 'anchor_length_mm') or is_unreadable(logged, 'length_mark')
);

create or replace macro anchor_length_words(logged, required, margin) as
concat(
    coalesce(
        'length ' || in_words(logged.anchor_length_mm, 'mm'),
        'length mark ' || logged.length_mark,
        'no length logged'
    ),
    ', ', in_words(required.anchor_length_mm, 'mm'), ' specified'
);
