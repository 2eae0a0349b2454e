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
select
    least(logged.edge_1_mm, logged.edge_2_mm) as nearest_mm,
    -- The edge distance that the logged spacing asks for: c_min where the spacing
    -- reaches s_1, up to c_1 where it is only s_min; between them the straight line
    -- where the setting data interpolate, else c_1. Spacing under s_min is the
    -- spacing's own fault: the edge is then held to c_1.
    case
        when reaches(logged.spacing_mm, required.pair_spacing_mm)
            then required.min_edge_mm
        when
            required.edge_spacing_interpolates
            and reaches(logged.spacing_mm, required.min_spacing_mm)
            then
                required.min_edge_mm
                + (required.pair_spacing_mm - logged.spacing_mm)
                * (required.pair_edge_mm - required.min_edge_mm)
                / (required.pair_spacing_mm - required.min_spacing_mm)
        when logged.spacing_mm is not null then required.pair_edge_mm
    end as needed_mm,
    -- Without a spacing the edge still decides below c_min and from c_1 on.
    case
        when not reaches(nearest_mm, required.min_edge_mm) then required.min_edge_mm
        when needed_mm is not null then needed_mm
        when reaches(nearest_mm, required.pair_edge_mm) then required.pair_edge_mm
    end as deciding_mm,
    margin_over(nearest_mm, deciding_mm) as margin,
    verdict_of(
        false,
        case
            when margin < 0 then false
            when unreadable.edge_1_mm or unreadable.edge_2_mm then null
            else margin >= 0
        end,
        unreadable.edge_1_mm or unreadable.edge_2_mm or unreadable.spacing_mm
    ) as verdict,
    if(margin < 0, 'close', null) as direction,
    concat(
        coalesce('nearest edge ' || in_distance(nearest_mm), 'no edge logged'),
        coalesce(
            ' at spacing ' || in_distance(logged.spacing_mm), ', no spacing logged'
        ),
        '; ',
        coalesce(
            in_number(coalesce(deciding_mm, needed_mm)) || ' required',
            in_number(required.min_edge_mm) || ' to '
            || in_number(required.pair_edge_mm)
            || ' required, depending on the spacing'
        )
    ) as words
from logged inner join required on logged.setting_code = required.setting_code
