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
select
    -- How many strokes more than required, of the scarcer kind; a missing count of a
    -- kind that is required leaves it open, unless the other is too few already.
    if(
        required.brushes_required = 0, 1e9,
        logged.brush_count - required.brushes_required
    ) as brushes_over,
    if(
        required.blows_required = 0, 1e9, logged.blow_count - required.blows_required
    ) as blows_over,
    if(
        brushes_over < 0 or blows_over < 0
        or (brushes_over is not null and blows_over is not null),
        least(brushes_over, blows_over), null
    ) as margin,
    verdict_of(
        (required.brushes_required = 0 and required.blows_required = 0)
        or coalesce(
            required.extraction_replaces_cleaning
            and logged.drill_method = 'hollow_bit' and logged.extraction_on,
            false
        ),
        case
            when not logged.cleaned then false
            when margin is not null then margin >= 0
            when unreadable.brush_count or unreadable.blow_count then null
            else logged.cleaned
        end,
        unreadable.brush_count or unreadable.blow_count or unreadable.cleaned
    ) as verdict,
    if(verdict = 'nonconforming', 'too little', null) as direction,
    concat(
        case
            when not logged.cleaned then 'logged as not cleaned'
            when logged.brush_count is null and logged.blow_count is null
                then if(logged.cleaned, 'logged as cleaned', 'no cleaning logged')
            else concat(
                coalesce(logged.brush_count::varchar, 'no number of'),
                if(logged.brush_count = 1, ' brush stroke, ', ' brush strokes, '),
                coalesce(logged.blow_count::varchar, 'no number of'),
                if(logged.blow_count = 1, ' blow', ' blows')
            )
        end,
        '; ', required.brushes_required, ' and ', required.blows_required, ' required',
        if(
            verdict = 'inapplicable' and required.brushes_required
            + required.blows_required > 0,
            '; the hollow bit replaces cleaning', ''
        )
    ) as words
from logged inner join required on logged.setting_code = required.setting_code
