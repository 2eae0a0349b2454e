-- Closed forms shared by the checks and the views.

-- Wilson score interval for a proportion, without continuity correction.
-- Wilson 1927, JASA 22:209-212; Newcombe 1998, Statistics in Medicine 17:857-872,
-- method 3. z = 1.959963984540054 is the 97.5 % point of the normal distribution.
-- NULL where nothing was judged. At 0 and at n of n one limit is exactly 0 or 1:
-- said outright, since the formula leaves rounding noise there.
create or replace macro wilson_low(nonconforming, judged, z := 1.959963984540054) as
case
    when judged = 0 then null
    when nonconforming = 0 then 0.0
    else (
        nonconforming + z * z / 2
        - z * sqrt(
            nonconforming * (judged - nonconforming)::double / judged + z * z / 4
        )
    ) / (judged + z * z)
end;

create or replace macro wilson_high(nonconforming, judged, z := 1.959963984540054) as
case
    when judged = 0 then null
    when nonconforming = judged then 1.0
    else (
        nonconforming + z * z / 2
        + z * sqrt(
            nonconforming * (judged - nonconforming)::double / judged + z * z / 4
        )
    ) / (judged + z * z)
end;

-- The comparison rule of every check: a margin is rounded to a millionth of its
-- unit before it is compared with 0. A site that logs 1.2 in for 30.48 mm must not
-- fall on the wrong side of a limit through binary fractions; no measuring tool on
-- a site resolves a millionth of a millimetre. Written out: round(..., 6) takes three
-- times as long, and every check compares.
create or replace macro margin_over(value, lower_limit) as
round((value - lower_limit) * 1e6) / 1e6;

create or replace macro reaches(value, lower_limit) as
margin_over(value, lower_limit) >= 0;

-- The five verdicts. is_conforming is NULL where the log does not decide it; then
-- the reason is either a value that could not be read or one that is missing.
create or replace macro verdict_of(is_inapplicable, is_conforming, is_unreadable) as
case
    when is_inapplicable then 'inapplicable'::verdict
    when is_conforming then 'conforming'::verdict
    when not is_conforming then 'nonconforming'::verdict
    when is_unreadable then 'unreadable'::verdict
    else 'unrecorded'::verdict
end;

-- The same as a bit: in the first 16 bits for conforming, the second for
-- nonconforming, then unrecorded and unreadable; inapplicable has none. The words of
-- all checks add up to one number (queries/judgement.py).
create or replace macro verdict_bit(
    first_bit, is_inapplicable, is_conforming, is_unreadable
) as
case
    when is_inapplicable then 0::ubigint
    when is_conforming then first_bit
    when not is_conforming then first_bit << 16
    when is_unreadable then first_bit << 48
    else first_bit << 32
end;

-- A quantity in words: two decimals at most, no trailing zeros; clear distances are so.
create or replace macro in_number(value) as
regexp_replace(printf('%.2f', value::double), '\.?0+$', '');

create or replace macro in_words(value, unit) as in_number(value) || ' ' || unit;

create or replace macro in_distance(value_mm) as
if(isinf(value_mm), 'clear', in_words(value_mm, 'mm'));

-- Length marks A to Z: from, up to but not including, in mm (1 in = 25.4 mm). US
-- practice (ICC-ES AC193, ACI 355.2), from memory: A starts at 1.5 in, half-inch
-- steps to Q, whole inches from R (10 in) on.
create or replace macro mark_from_mm(length_mark) as
case
    when length_mark between 'A' and 'Q' and length(length_mark) = 1
        then 25.4 * (1.5 + 0.5 * (ascii(length_mark) - ascii('A')))
    when length_mark between 'R' and 'Z' and length(length_mark) = 1
        then 25.4 * (10 + ascii(length_mark) - ascii('R'))
end;

create or replace macro mark_to_mm(length_mark) as
mark_from_mm(length_mark)
+ case when length_mark between 'A' and 'Q' then 12.7 else 25.4 end;

-- Between which lengths an anchor is: alike where its length was measured.
create or replace macro length_from_mm(anchor_length_mm, length_mark) as
coalesce(anchor_length_mm, mark_from_mm(length_mark));

create or replace macro length_to_mm(anchor_length_mm, length_mark) as
coalesce(anchor_length_mm, mark_to_mm(length_mark));

-- Effective embedment, mm: measured, else what of the anchor's length is in the
-- concrete, less the distance from the lower end of the expansion element to the tip.
-- All packing counts as fixture. Plain geometry; h_ef: EN 1992-4 clause 3, from memory.
create or replace macro effective_embedment_mm(
    measured_mm, anchor_length_mm, fixture_mm, packing_mm, projection_mm, tip_mm
) as
coalesce(
    measured_mm, anchor_length_mm - fixture_mm - packing_mm - projection_mm - tip_mm
);

-- Indicative only, to order follow-up: the share of an undisturbed concrete cone's
-- capacity that a shorter embedment leaves, (h_ef,act / h_ef)^1.5, and the factor of a
-- near edge, psi_s = 0.7 + 0.3 c / (1.5 h_ef), at most 1. EN 1992-4 7.2.1.4, ACI 318-19
-- 17.6.2, from memory. Not in it: the cut-off area of the cone, neighbours, pull-out,
-- splitting, steel.
create or replace macro embedment_ratio(effective_mm, required_mm) as
if(effective_mm < 0, 0.0, pow(effective_mm / required_mm, 1.5));

create or replace macro edge_ratio(nearest_edge_mm, required_mm) as
if(
    nearest_edge_mm < 1.5 * required_mm,
    0.7 + 0.3 * nearest_edge_mm / (1.5 * required_mm),
    if(nearest_edge_mm is null, null, 1.0)
);

-- Both together; what is not known counts as whole, and nothing makes up for the other.
create or replace macro cone_ratio(embedment_part, edge_part) as
if(
    embedment_part is null and edge_part is null, null,
    least(1.0, coalesce(embedment_part, 1.0)) * coalesce(edge_part, 1.0)
);

-- Mean of the logarithm over the interval of width step about a rounded value:
-- (b ln b - a ln a) / (b - a) - 1 (the integral of ln). A multiple of step has a > 0.
create or replace macro mean_log(value, step) as
(
    (value + step / 2) * ln(value + step / 2)
    - (value - step / 2) * ln(value - step / 2)
) / step - 1;

-- The share of readings on whole tens of their step, of readings that are normal about
-- mean_tens with variance variance_tens2, both counted in tens of steps; one reading
-- is a tenth of a ten wide. Fourier series of the normal distribution wrapped to 1
-- (Poisson's summation formula). A spread below half a step is taken as half a step:
-- from there on twelve terms are enough for three decimals.
create or replace macro share_on_tens(mean_tens, variance_tens2) as
0.1 + list_sum([
    2 / (pi() * term) * sin(0.1 * pi() * term)
    * exp(-2 * (pi() * term) ** 2 * greatest(variance_tens2, 0.05 ** 2))
    * cos(2 * pi() * term * mean_tens)
    for term in range(1, 13)
]);
