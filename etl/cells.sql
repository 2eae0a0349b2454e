-- How a cell of a site log is read. Temporary: these belong to a load, not to a store.
-- Each gives NULL for a blank and for a cell it cannot read; is_blank tells the two
-- apart, and what is not blank but NULL becomes a field fault. What these do not read
-- goes to the functions of readings.py, one cell at a time.

-- Nothing is also what a hand or a spreadsheet makes of it: dashes, a line to fill in.
create or replace temp macro is_blank(cell) as
cell is null
or regexp_full_match(
    trim(cell),
    '\s*(-{1,3}|[‐‑‒–—]{1,3}|_{2,}|[.…]{2,}|…|n/a|n\.\s?a\.|n/r|na|null)?\s*', 'i'
);

-- What a spreadsheet shows for a formula that failed: #N/A, #REF!, #VALEUR!, #NV.
create or replace temp macro is_error_text(trimmed) as
starts_with(trimmed, '#')
and regexp_full_match(trimmed, '#(N/A|N/D|NV|ND|[\p{Lu}/_0]+[!?])');

-- One of the values of a cell that holds several, parted by what a pattern matches. A
-- cell of another number of them is as an error is: nothing says which value is which.
create or replace temp macro pieces_of(cell, pattern) as
string_split_regex(trim(cell), pattern);

create or replace temp macro piece_cell(cell, pattern, number, place) as
case
    when is_blank(cell) then cell
    when len(pieces_of(cell, pattern)) = number then pieces_of(cell, pattern)[place]
    else '#N/A'
end;

create or replace temp macro contains_digit(cell) as
coalesce(regexp_matches(cell, '\d'), false);

-- A figure without a mark before or behind it. A mark alone stays: it is no figure.
create or replace temp macro unmarked_cell(cell, before, behind) as
coalesce(
    nullif(
        trim(regexp_replace(regexp_replace(cell, before, '\1'), behind, '\1')), ''
    ),
    cell
);

create or replace temp macro is_line(trimmed) as
trimmed[1] = '_' or trimmed[1] = '.' or trimmed[1] = '…';

-- Words for nothing and errors begin with a sign or with n: all others need no second
-- look. Short first, as nearly every text is longer than those words; only lines to
-- fill in, of dots or underscores, may be as long as they like.
create or replace temp macro text_cell(trimmed) as
case
    when
        trimmed between '/' and 'M~' or trimmed between 'O' and 'Z~'
        or trimmed between 'a' and 'm~' or trimmed between 'o' and 'z~'
        then trimmed
    when (length(trimmed) <= 5 or is_line(trimmed)) and is_blank(trimmed) then null
    when is_error_text(trimmed) then null
    else trimmed
end;

-- A code is known by a letter or digit: signs alone, as a ditto mark or "?", are none.
create or replace temp macro code_cell(trimmed) as
case
    when
        trimmed between '0' and '9~' or trimmed between 'A' and 'M~'
        or trimmed between 'a' and 'm~'
        then trimmed
    when regexp_matches(trimmed, '[\p{L}\p{N}]') then text_cell(trimmed)
end;

create or replace temp macro yes_no_word(word) as
case
    when word in ('yes', 'y', 'true', '1') then true
    when word in ('no', 'n', 'false', '0') then false
end;

-- Any mark in one of several columns, but for what says that it is not the one: no in
-- the languages that a draft knows (etl/draft/values.toml), and an empty box.
create or replace temp macro is_ticked(cell) as
not is_blank(cell)
and yes_no_word(lower(trim(cell))) is distinct from false
and lower(trim(cell)) not in (
    'nein', 'non', 'não', 'nao', 'nee', 'nie', 'ne', 'nej', 'nei', 'falsch', 'faux',
    'falso', 'onwaar'
)
and trim(cell) not in ('☐', '□', '◻', '▢', '¨');

-- What nearly every cell holds first: trimming takes three times as long.
create or replace temp macro yes_no(cell) as
case
    when cell is null then null
    when cell = 'true' then true
    when cell = 'false' then false
    else yes_no_word(lower(trim(cell)))
end;

-- Of several answers to one question: no where one is no; `said`, as they stand there,
-- where one cannot be read; blank where one is, for nobody says the rest.
create or replace temp macro all_yes(cells, said) as
case
    when len(list_filter(cells, lambda cell: yes_no(cell) is false)) > 0 then 'no'
    when
        len(
            list_filter(
                cells, lambda cell: yes_no(cell) is null and not is_blank(cell)
            )
        ) > 0
        then said
    when len(list_filter(cells, lambda cell: is_blank(cell))) = 0 then 'yes'
end;

create or replace temp macro choice(cell, words) as
case
    when cell is null then null
    when list_contains(words, cell) then cell
    when list_contains(words, lower(trim(cell))) then lower(trim(cell))
end;

-- The plain reading that fits nearly every cell. parse.py keeps it in a column of its
-- own, so that it is worked out once a cell.
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

-- Converting by scaled() rounds once, as the exact product would be. It takes a whole
-- count of ten-thousandths under 2^28, so that its product with the upper 25 bits of a
-- factor is exact. A cell of at most 15 digits is that count where they agree.
create or replace temp macro can_scale(number, cell) as
number between 0 and 26843 and length(cell) <= 16
and round(number * 10000) / 10000 = number;

create or replace temp macro scaled(number, upper, lower) as
round(number * 10000) * upper + round(number * 10000) * lower;

-- A date, or a date and a time, as ISO 8601 writes them and without an offset. The cast
-- takes much more, and takes no notice of a pm behind the time.
create or replace temp macro is_plain_iso(trimmed) as
length(trimmed) = 10
or regexp_full_match(
    trimmed, '\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d([.]\d+)?)?'
);

-- The two forms nearly every cell has, in half the time: a form of fixed length, read
-- strictly, of which only a blank at either end could be anything else.
create or replace temp macro short_iso(cell) as
case
    when strlen(cell) = 16 and cell >= '0' and cell[16] >= '0'
        then try_strptime(cell, '%Y-%m-%dT%H:%M')
    when strlen(cell) = 10 and cell >= '0' and cell like '____-__-__'
        then try_cast(cell as timestamp)
end;

create or replace temp macro iso_local(cell) as
coalesce(
    short_iso(cell),
    if(is_plain_iso(trim(cell)), try_cast(trim(cell) as timestamp), null)
);

create or replace temp macro iso_instant(cell) as
if(
    strlen(cell) > 16 and length(trim(cell)) > 16
    and regexp_full_match(trim(cell), '[0-9T: .-]+:[0-9.]+\s*(Z|[+-][0-9:]+)'),
    try_cast(trim(cell) as timestamptz), null
);

-- Four-digit years are read here; 26 would be a year of Augustus.
create or replace temp macro ordered_local(trimmed, formats) as
try_strptime(translate(trimmed, './', '--'), formats);

create or replace temp macro is_dated(moment) as
moment >= '1990-01-01'::timestamp and moment < '9999-01-01'::timestamp;
