-- title: Edge distance
-- unit: mm
-- nonconforming: The nearest edge is closer than the minimum edge distance, or closer
--     than the setting data allow together with the logged spacing. There is no
--     minus tolerance.
-- unrecorded: No edge was logged, or the edge lies where the spacing decides and no
--     spacing was logged. An entry "clear" (no edge near) conforms.
-- source: Setting data; the pair rule s_req(c) = s_1 - (s_1 - s_min)(c - c_min)/(c_1 -
--     c_min) of European assessments, from memory; no minus tolerance: standard
--     installation clause of European assessments.

create or replace macro nearest_edge_mm(logged) as
least(logged.edge_1_mm, logged.edge_2_mm);

-- The edge distance that the logged spacing asks for: c_min where the spacing reaches
-- s_1, up to c_1 where it is only s_min; between them the straight line where the
-- setting data interpolate, else c_1. NULL where no spacing was logged. Spacing under
-- s_min is the spacing's own fault: the edge is then held to c_1.
create or replace macro edge_for_spacing_mm(logged, required) as
case
    when required.at_edge_mm is null or required.at_spacing_mm is null
        then required.min_edge_mm
    when reaches(logged.spacing_mm, required.at_spacing_mm) then required.min_edge_mm
    when
        required.edge_spacing_interpolates
        and reaches(logged.spacing_mm, required.min_spacing_mm)
        then
            required.min_edge_mm
            + (required.at_spacing_mm - logged.spacing_mm)
            * (required.at_edge_mm - required.min_edge_mm)
            / nullif(required.at_spacing_mm - required.min_spacing_mm, 0)
    when logged.spacing_mm is not null then required.at_edge_mm
end;

-- Without a spacing two edges still decide: below c_min never, from c_1 on always.
create or replace macro edge_distance_margin(logged, required) as
case
    when not reaches(nearest_edge_mm(logged), required.min_edge_mm)
        then margin_over(nearest_edge_mm(logged), required.min_edge_mm)
    when edge_for_spacing_mm(logged, required) is not null
        then margin_over(
            nearest_edge_mm(logged), edge_for_spacing_mm(logged, required)
        )
    when reaches(nearest_edge_mm(logged), required.at_edge_mm)
        then margin_over(nearest_edge_mm(logged), required.at_edge_mm)
end;

create or replace macro edge_distance_direction(logged, required, margin) as
case when margin < 0 then 'close' end;

create or replace macro edge_distance_verdict(logged, required, margin) as
verdict_of(
    false,
    case
        when margin < 0 then false
        when
            is_unreadable(logged, 'edge_1_mm')
            or is_unreadable(logged, 'edge_2_mm') then null
        else margin >= 0
    end,
    is_unreadable(logged, 'edge_1_mm') or is_unreadable(logged, 'edge_2_mm')
    or is_unreadable(logged, 'spacing_mm')
);

create or replace macro edge_distance_words(logged, required, margin) as
concat(
    coalesce(
        'nearest edge ' || in_words(nearest_edge_mm(logged), 'mm'), 'no edge logged'
    ),
    coalesce(
        ' at spacing ' || in_words(logged.spacing_mm, 'mm'), ', no spacing logged'
    ),
    '; ',
    coalesce(
        in_words(edge_for_spacing_mm(logged, required), 'mm') || ' required',
        in_words(required.min_edge_mm, 'mm') || ' to '
        || in_words(required.at_edge_mm, 'mm')
        || ' required, depending on the spacing'
    )
);
