-- What every anchor is held against: the setting data, with the project's defaults
-- filled in where they are silent. Grain: one row per setting_code.
-- Reads: setting_data, drill_bit_band, judging_option.
create or replace view requirement as
select
    required.*,  -- noqa: AM04
    -- From the lower end of the expansion element to the bolt's tip.
    required.nominal_embedment_mm - required.embedment_mm as tip_mm,
    -- Without a published band 10 % either way, the project default. A guard band for
    -- the tool's error, a fraction of the setting torque, moves both ends inward.
    coalesce(required.torque_low_nm, 0.9 * required.setting_torque_nm)
    + option.torque_guard_frac * required.setting_torque_nm as lowest_torque_nm,
    coalesce(required.torque_high_nm, 1.1 * required.setting_torque_nm)
    - option.torque_guard_frac * required.setting_torque_nm as highest_torque_nm,
    required.torque_low_nm is null as has_default_low,
    required.torque_high_nm is null as has_default_high,
    option.torque_guard_frac,
    coalesce(required.bit_min_mm, band.bit_min_mm) as smallest_bit_mm,
    coalesce(required.bit_max_mm, band.bit_max_mm) as largest_bit_mm,
    required.bit_min_mm is null
    and band.drill_diameter_mm is not null as has_usual_smallest_bit,
    required.bit_max_mm is null
    and band.drill_diameter_mm is not null as has_usual_largest_bit,
    -- Whether length marks are the letters of US practice: where the specified length
    -- lies in its own mark's interval, or is of an inch size without a mark. All other
    -- marks are the maker's, and say only whether they are the one specified.
    coalesce(
        required.anchor_length_mm >= mark_from_mm(required.length_mark)
        and required.anchor_length_mm < mark_to_mm(required.length_mark),
        required.length_mark is null and not starts_with(required.anchor_size, 'M')
    ) as has_letter_marks,
    -- The other end of the edge and spacing pair: the spacing from which the smallest
    -- edge is allowed, and the edge from which the smallest spacing is. Setting data
    -- without a pair allow both smallest at once.
    coalesce(required.at_spacing_mm, required.min_spacing_mm) as pair_spacing_mm,
    coalesce(required.at_edge_mm, required.min_edge_mm) as pair_edge_mm,
    -- As ;A;B;, to find a code in without taking a list along. NULL: any material.
    if(
        len(required.base_materials) > 0,
        ';' || array_to_string(required.base_materials, ';') || ';', null
    ) as base_material_codes
from setting_data as required
left join drill_bit_band as band
    on round(required.drill_diameter_mm, 2) = round(band.drill_diameter_mm, 2)
cross join judging_option as option;
