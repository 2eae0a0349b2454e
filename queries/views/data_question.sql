-- Entries that contradict each other: questions to the site, not verdicts.
-- - The measured embedment lies more than 3 mm off what length (or length mark),
--   fixture, packing and projection give. The measured one is judged.
-- - The hole is more than 3 mm shallower than the bolt's tip, by the measured embedment
--   or else by the derived one, reaches into the concrete: a bolt makes no hole.
-- - The torque was checked again before the anchor was set.
-- 3 mm: common practice, no source. Grain: one row per installation and question.
-- Reads: installation, requirement.
create or replace view data_question as
select
    site_code,
    record_id,
    source_file_id,
    source_row,
    unnest(
        list_filter(
            [embedment_question, hole_question, recheck_question],
            lambda asked: asked != ''
        )
    ) as question
from (
    select
        site_code,
        record_id,
        source_file_id,
        source_row,
        if(
            not reaches(3, greatest(from_mm - embedment_mm, embedment_mm - to_mm)),
            concat(
                'embedment measured ', in_words(embedment_mm, 'mm'),
                ', but length, fixture, packing and projection give ',
                if(from_mm < to_mm, in_number(from_mm) || ' to under ', ''),
                in_words(to_mm, 'mm'), ': ',
                in_words(greatest(from_mm - embedment_mm, embedment_mm - to_mm), 'mm'),
                ' apart. Which entry is right?'
            ),
            ''
        ) as embedment_question,
        if(
            not reaches(3, coalesce(embedment_mm, from_mm) + tip_mm - hole_depth_mm),
            concat(
                'hole ', in_words(hole_depth_mm, 'mm'), ' deep, but the ',
                if(
                    embedment_mm is null,
                    'length, fixture, packing and projection put',
                    'measured embedment puts'
                ),
                ' the bolt''s tip ',
                in_words(coalesce(embedment_mm, from_mm) + tip_mm, 'mm'),
                ' deep, in solid concrete. Which entry is right?'
            ),
            ''
        ) as hole_question,
        if(
            recheck_at < installed_at,
            'torque checked again before the anchor was set. Which entry is right?',
            ''
        ) as recheck_question
    from (
        select
            logged.site_code,
            logged.record_id,
            logged.source_file_id,
            logged.source_row,
            logged.embedment_mm,
            logged.hole_depth_mm,
            logged.installed_at,
            logged.recheck_at,
            required.nominal_embedment_mm - required.embedment_mm as tip_mm,
            effective_embedment_mm(
                null::double,
                length_from_mm(
                    logged.anchor_length_mm,
                    if(required.has_letter_marks, logged.length_mark, null)
                ),
                logged.fixture_thickness_mm,
                logged.packing_mm,
                logged.projection_mm,
                required.nominal_embedment_mm - required.embedment_mm
            ) as from_mm,
            effective_embedment_mm(
                null::double,
                length_to_mm(
                    logged.anchor_length_mm,
                    if(required.has_letter_marks, logged.length_mark, null)
                ),
                logged.fixture_thickness_mm,
                logged.packing_mm,
                logged.projection_mm,
                required.nominal_embedment_mm - required.embedment_mm
            ) as to_mm
        from installation as logged
        inner join requirement as required
            on logged.setting_code = required.setting_code
        where
            logged.outcome is distinct from 'abandoned'
            and (
                logged.embedment_mm is not null
                or logged.hole_depth_mm is not null
                or logged.recheck_at is not null
            )
    )
);
