-- title: Embedment
-- unit: mm
-- nonconforming: The effective embedment is less than h_ef. Measured where it was
--     logged, else derived: length - (fixture + packing) - projection is the part in
--     the concrete; less the constant distance from the lower end of the expansion
--     element to the bolt's tip (h_nom - h_ef) it is the effective embedment. All
--     packing counts as fixture: every millimetre of it is one of embedment lost.
--     From a length mark the embedment is an interval, which must lie wholly on one
--     side.
-- unrecorded: Not measured, and one of length (or mark), fixture, packing or
--     projection is missing. Only where the anchor is too shallow even without any
--     packing does a missing packing not matter: then it is nonconforming.
-- source: EN 1992-4 clause 3 and ACI 318-19 chapter 2 for h_ef, from memory; the
--     geometry is plain; that packing counts: common practice, no source.
select
    effective_embedment_mm(
        logged.embedment_mm, logged.length_from_mm, logged.fixture_thickness_mm,
        logged.packing_mm, logged.projection_mm, required.tip_mm
    ) as from_mm,
    -- Packing that nobody logged may be none: then the embedment is at most this.
    effective_embedment_mm(
        logged.embedment_mm, logged.length_to_mm, logged.fixture_thickness_mm,
        coalesce(logged.packing_mm, 0), logged.projection_mm, required.tip_mm
    ) as to_mm,
    if(from_mm = to_mm, margin_over(from_mm, required.embedment_mm), null) as margin,
    verdict_of(
        false,
        case
            when reaches(from_mm, required.embedment_mm) then true
            when not reaches(to_mm, required.embedment_mm) then false
            -- A mark stands for lengths up to but not including the longer one.
            when
                logged.embedment_mm is null and logged.anchor_length_mm is null
                and reaches(required.embedment_mm, to_mm) then false
        end,
        unreadable.embedment_mm or unreadable.anchor_length_mm
        or unreadable.fixture_thickness_mm or unreadable.packing_mm
        or unreadable.projection_mm
    ) as verdict,
    if(verdict = 'nonconforming', 'shallow', null) as direction,
    concat(
        case
            when verdict = 'nonconforming' and logged.packing_mm > 0
                then
                    in_words(logged.packing_mm, 'mm') || ' of packing'
                    || if(
                        reaches(to_mm + logged.packing_mm, required.embedment_mm),
                        ' make it short', ''
                    ) || ': '
            else ''
        end,
        case
            when from_mm = to_mm then 'embedment ' || in_words(to_mm, 'mm')
            when from_mm < to_mm
                then
                    'embedment ' || in_number(from_mm) || ' to under '
                    || in_words(to_mm, 'mm') || ' (length mark '
                    || logged.length_mark || ')'
            when to_mm is not null
                then
                    'embedment at most ' || in_words(to_mm, 'mm')
                    || ' (packing not logged)'
            else 'embedment neither measured nor derivable'
        end,
        ', ', in_number(required.embedment_mm), ' required'
    ) as words
from logged inner join required on logged.setting_code = required.setting_code
