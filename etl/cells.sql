-- How a cell of a site log is read. Temporary: these belong to a load, not to a store.
-- Each gives NULL for a blank and for a cell it cannot read; is_blank tells the two
-- apart, and what is not blank but NULL becomes a field fault.

create or replace temp macro is_blank(cell) as
cell is null or regexp_full_match(cell, '\s*(-|--|n/a|na|null)?\s*', 'i');

-- Short first: nearly every text is longer than the words for nothing.
create or replace temp macro text_cell(trimmed) as
if(length(trimmed) <= 4 and is_blank(trimmed), null, trimmed);

create or replace temp macro yes_no_word(word) as
case
    when word in ('yes', 'y', 'true', '1') then true
    when word in ('no', 'n', 'false', '0') then false
end;

-- 3 1/2, 1/2, 3-1/2, with or without the inch sign. Only inches are logged so.
create or replace temp macro fraction_cell(cell) as
case
    when regexp_full_match(trim(cell), '([0-9]+[ -]+)?[0-9]+/[1-9][0-9]*\s*"?')
        then
            coalesce(
                try_cast(regexp_extract(trim(cell), '^([0-9]+)[ -]+', 1) as double), 0
            )
            + try_cast(regexp_extract(trim(cell), '([0-9]+)/', 1) as double)
            / try_cast(regexp_extract(trim(cell), '/([0-9]+)', 1) as double)
end;

-- Grouped digits only where the groups are of three: 1,234.5 is a number, 12,34 is not.
create or replace temp macro slow_point(cell) as
case
    when regexp_full_match(trim(cell), '[0-9]{1,3}(,[0-9]{3})+([.][0-9]+)?')
        then try_cast(replace(trim(cell), ',', '') as double)
end;

-- With a decimal comma a point can only group: 1.234,5 is a number, 12.5 is not.
create or replace temp macro slow_comma(cell) as
case
    when regexp_full_match(
        trim(cell), '([0-9]+|[0-9]{1,3}([.][0-9]{3})+)(,[0-9]+)?'
    ) then try_cast(replace(replace(trim(cell), '.', ''), ',', '.') as double)
end;

-- The plain reading that fits nearly every cell. parse.py keeps it in a column of its
-- own, so that it is worked out once a cell; what it does not read goes the slow way.
create or replace temp macro plain_point(cell) as try_cast(cell as double);

create or replace temp macro plain_comma(cell) as
if(contains(cell, '.'), null, try_cast(replace(cell, ',', '.') as double));

-- Nothing that is logged here can be less than nothing. The words inf and nan are
-- numbers to the cast, but not to a site.
create or replace temp macro is_quantity(number) as number between 0 and 1e300;

create or replace temp macro whole(number) as
case
    when number between 0 and 2147483647 and number = floor(number)
        then number::integer
end;
