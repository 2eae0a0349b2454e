-- title: Hole depth
-- unit: mm
-- nonconforming: The hole is shallower than the setting data require (h_1). A
--     deeper hole conforms, but never makes up for a short anchor.
-- unrecorded: No hole depth was logged.
-- source: Setting data (hole depth h_1, EAD 330232 and ACI 355.2 terms, from memory).

create or replace macro hole_depth_margin(logged, required) as
margin_over(logged.hole_depth_mm, required.hole_depth_mm);

create or replace macro hole_depth_direction(logged, required, margin) as
case when margin < 0 then 'shallow' end;

create or replace macro hole_depth_verdict(logged, required, margin) as
verdict_of(
    false,
    margin >= 0,
    is_unreadable(logged, 'hole_depth_mm')
);

create or replace macro hole_depth_words(logged, required, margin) as
concat(
    coalesce(
        'hole ' || in_words(logged.hole_depth_mm, 'mm') || ' deep',
        'no hole depth logged'
    ),
    ', ', in_words(required.hole_depth_mm, 'mm'), ' required'
);
