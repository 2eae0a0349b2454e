-- title: Spacing
-- unit: mm
-- nonconforming: The nearest neighbour is closer than the minimum spacing, or closer
--     than the setting data allow together with the nearest edge. There is no minus
--     tolerance.
-- unrecorded: No spacing was logged, or it lies where the edge decides and no edge was
--     logged. An entry "clear" (no neighbour near) conforms.
-- source: Setting data; the pair rule s_req(c) = s_1 - (s_1 - s_min)(c - c_min)/(c_1 -
--     c_min) of European assessments, from memory; no minus tolerance: standard
--     installation clause of European assessments.
select
    least(logged.edge_1_mm, logged.edge_2_mm) as nearest_edge_mm,
    -- The spacing that the nearest edge asks for: s_min where the edge reaches c_1, up
    -- to s_1 where it is only c_min; between them the straight line where the setting
    -- data interpolate, else s_1. An edge under c_min is the edge's own fault: the
    -- spacing is then held to s_1.
    case
        when reaches(nearest_edge_mm, required.pair_edge_mm)
            then required.min_spacing_mm
        when
            required.edge_spacing_interpolates
            and reaches(nearest_edge_mm, required.min_edge_mm)
            then
                required.pair_spacing_mm
                - (required.pair_spacing_mm - required.min_spacing_mm)
                * (nearest_edge_mm - required.min_edge_mm)
                / (required.pair_edge_mm - required.min_edge_mm)
        when nearest_edge_mm is not null then required.pair_spacing_mm
    end as needed_mm,
    -- Without an edge the spacing still decides below s_min and from s_1 on.
    case
        when
            not reaches(logged.spacing_mm, required.min_spacing_mm)
            then required.min_spacing_mm
        when needed_mm is not null then needed_mm
        when
            reaches(logged.spacing_mm, required.pair_spacing_mm)
            then required.pair_spacing_mm
    end as deciding_mm,
    margin_over(logged.spacing_mm, deciding_mm) as margin,
    verdict_of(
        false,
        case
            when margin < 0 then false
            -- An edge that cannot be read may be nearer, and ask for up to s_1.
            when
                (unreadable.edge_1_mm or unreadable.edge_2_mm)
                and not reaches(logged.spacing_mm, required.pair_spacing_mm)
                then null
            else margin >= 0
        end,
        unreadable.spacing_mm or unreadable.edge_1_mm or unreadable.edge_2_mm
    ) as verdict,
    if(margin < 0, 'close', null) as direction,
    concat(
        coalesce('spacing ' || in_distance(logged.spacing_mm), 'no spacing logged'),
        coalesce(
            ' at nearest edge ' || in_distance(nearest_edge_mm), ', no edge logged'
        ),
        '; ',
        coalesce(
            in_number(coalesce(deciding_mm, needed_mm)) || ' required',
            in_number(required.min_spacing_mm) || ' to '
            || in_number(required.pair_spacing_mm) || ' required, depending on the edge'
        )
    ) as words
from logged inner join required on logged.setting_code = required.setting_code
