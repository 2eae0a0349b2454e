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
-- a site resolves a millionth of a millimetre.
create or replace macro margin_over(value, lower_limit) as
round(value - lower_limit, 6);

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

-- A quantity in words: at most one decimal, no trailing zero, a clear edge as such.
create or replace macro in_words(value, unit) as
case
    when isinf(value::double) then 'clear'
    else regexp_replace(printf('%.1f', value::double), '\.0$', '') || ' ' || unit
end;

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
