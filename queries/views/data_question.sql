-- Entries that contradict each other: a question to the site, not a verdict. So far
-- one: the measured embedment lies more than 3 mm off what length (or length mark),
-- fixture, packing and projection give (3 mm: common practice, no source). The measured
-- one is judged. Grain: one row per installation with a question.
-- Reads: installation, requirement.
create or replace view data_question as
select
    site_code,
    record_id,
    source_file_id,
    source_row,
    concat(
        'embedment measured ', in_words(embedment_mm, 'mm'),
        ', but length, fixture, packing and projection give ',
        if(from_mm < to_mm, in_number(from_mm) || ' to under ', ''),
        in_words(to_mm, 'mm'), ': ',
        in_words(greatest(from_mm - embedment_mm, embedment_mm - to_mm), 'mm'),
        ' apart. Which entry is right?'
    ) as question
from (
    select
        logged.site_code,
        logged.record_id,
        logged.source_file_id,
        logged.source_row,
        logged.embedment_mm,
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
        logged.embedment_mm is not null
        and logged.outcome is distinct from 'abandoned'
)
where not reaches(3, greatest(from_mm - embedment_mm, embedment_mm - to_mm));
