-- title: Embedment
-- unit: mm
-- nonconforming: The effective embedment is less than h_ef. Measured where it was
--     logged, else derived: length - (fixture + packing) - projection is the part in
--     the concrete; less the constant distance from the lower end of the expansion
--     element to the bolt's tip (h_nom - h_ef) it is the effective embedment. All
--     packing counts as fixture: every millimetre of it is one of embedment lost.
-- unrecorded: Not measured, and one of length, fixture, packing or projection is
--     missing. Only where the anchor is too shallow even without any packing does a
--     missing packing not matter: then it is nonconforming.
-- source: EN 1992-4 clause 3 and ACI 318-19 chapter 2 for h_ef, from memory; the
--     geometry is plain; that packing counts: common practice, no source.

-- Effective embedment if the packing had this thickness.
create or replace macro embedment_with_packing(logged, required, packing_mm) as
logged.anchor_length_mm - logged.fixture_thickness_mm - packing_mm
- logged.projection_mm - (required.nominal_embedment_mm - required.embedment_mm);

create or replace macro effective_embedment_mm(logged, required) as
coalesce(
    logged.embedment_mm,
    embedment_with_packing(logged, required, logged.packing_mm)
);

create or replace macro embedment_margin(logged, required) as
margin_over(effective_embedment_mm(logged, required), required.embedment_mm);

create or replace macro embedment_verdict(logged, required, margin) as
verdict_of(
    false,
    case
        when margin is not null
            then margin >= 0
        when not reaches(
            embedment_with_packing(logged, required, 0), required.embedment_mm
        ) then false
    end,
    is_unreadable(logged, 'embedment_mm')
    or is_unreadable(logged, 'anchor_length_mm')
    or is_unreadable(logged, 'fixture_thickness_mm')
    or is_unreadable(logged, 'packing_mm')
    or is_unreadable(logged, 'projection_mm')
);

create or replace macro embedment_direction(logged, required, margin) as
case
    when embedment_verdict(logged, required, margin) = 'nonconforming' then 'shallow'
end;

create or replace macro embedment_words(logged, required, margin) as
concat(
    case
        when margin < 0 and logged.packing_mm > 0
            then in_words(logged.packing_mm, 'mm') || ' of packing: '
        else ''
    end,
    coalesce(
        'embedment ' || in_words(effective_embedment_mm(logged, required), 'mm'),
        'embedment at most '
        || in_words(embedment_with_packing(logged, required, 0), 'mm')
        || ' (packing not logged)',
        'embedment neither measured nor derivable'
    ),
    ', ', in_words(required.embedment_mm, 'mm'), ' required'
);
