-- title: Hole cleaning
-- unit: strokes
-- nonconforming: Fewer brush strokes or blows than the setting data require, or the
--     hole was logged as not cleaned.
-- inapplicable: The setting data ask for no cleaning; or the hole was drilled with a
--     hollow bit and running extraction, and the setting data say that this
--     replaces cleaning. Any other hole is judged.
-- unrecorded: Neither the counts that are required nor a yes/no was logged.
-- source: Setting data (brushes, blows); standard installation clause of European
--     assessments. Hollow bits: common practice, no source.

-- How many strokes more than required, of the scarcer kind; a missing count of a
-- kind that is required leaves it open.
create or replace macro hole_cleaning_margin(logged, required) as
case
    when required.brushes_required = 0
        then logged.blow_count - required.blows_required
    when required.blows_required = 0
        then logged.brush_count - required.brushes_required
    when
        logged.brush_count < required.brushes_required
        or logged.blow_count < required.blows_required
        or (logged.brush_count is not null and logged.blow_count is not null)
        then least(
            logged.brush_count - required.brushes_required,
            logged.blow_count - required.blows_required
        )
end::double;

create or replace macro hole_cleaning_verdict(logged, required, margin) as
verdict_of(
    (required.brushes_required = 0 and required.blows_required = 0)
    or coalesce(
        required.extraction_replaces_cleaning
        and logged.drill_method = 'hollow_bit' and logged.extraction_on,
        false
    ),
    case
        when not logged.cleaned then false
        when margin is not null
            then margin >= 0
        when
            is_unreadable(logged, 'brush_count')
            or is_unreadable(logged, 'blow_count') then null
        else logged.cleaned
    end,
    is_unreadable(logged, 'brush_count') or is_unreadable(logged, 'blow_count')
    or is_unreadable(logged, 'cleaned')
);

create or replace macro hole_cleaning_direction(logged, required, margin) as
case
    when
        hole_cleaning_verdict(logged, required, margin) = 'nonconforming'
        then 'too little'
end;

create or replace macro hole_cleaning_words(logged, required, margin) as
concat(
    case
        when not logged.cleaned then 'logged as not cleaned'
        when logged.brush_count is null and logged.blow_count is null
            then if(logged.cleaned, 'logged as cleaned', 'no cleaning logged')
        else concat(
            coalesce(logged.brush_count::varchar, 'no number of'), ' brush strokes, ',
            coalesce(logged.blow_count::varchar, 'no number of'), ' blows'
        )
    end,
    '; ', required.brushes_required, ' and ', required.blows_required, ' required'
);
