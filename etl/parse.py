"""From a file's cells to canonical values: the SELECT that a site map stands for."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from etl.date_sql import day_sql, lacks_time_sql, week_day_sql
from etl.query import Parameters, Query
from etl.record_number import cells_within, names_within, record_id_sql
from etl.site_map import MappedColumn, Piece, SiteMap
from etl.site_map.marks import mark_patterns
from etl.site_map.years import with_year_sql
from etl.staging import StagedFile, filled_down_sql
from etl.value_sql import first_reading_sql, value_sql
from queries.columns import LOGGED_COLUMNS, LOGGED_NAMES, Column

# Those that decide whether a row can be taken, and what they are read from.
IDENTITY_NAMES = ("record_id", "installed_on", "crew_code", "setting_code")
_READ_FOR = {"installed_on": ("installed_at",), "installed_at": ("installed_time",)}


def parsed_rows(
    staged: StagedFile, site_map: SiteMap, names: Sequence[str] = LOGGED_NAMES
) -> Query:
    """Return the SELECT of a staged file's rows in canonical columns.

    Columns: source_row, is_unreadable_line, the canonical columns `names` (NULL where
    blank, not mapped or not readable), field_fault_mask of these, and `<column>_cell`,
    the raw text, for each that is mapped, and of a log of several sites site_cell. One
    row per staged row of the site that is not blank altogether. A statement costs by
    its columns even where they are not used.
    """
    parameters = Parameters()
    read_names = {*names, *names_within(site_map)}
    needed = {*read_names}.union(*(_READ_FOR.get(name, ()) for name in read_names))
    if site_map.night_until and "installed_on" in needed:
        needed.add("installed_time")
    mapped = {
        found.column.name: found
        for found in site_map.columns
        if found.column.name in needed
    }
    columns = [column for column in LOGGED_COLUMNS if column.name in names]
    cells = [
        f"{_cell_sql(found, staged, site_map, parameters)} as {name}_cell"
        for name, found in mapped.items()
    ]
    within = cells_within(staged, site_map)
    cells += [f"{cell} as {name}" for name, cell in within.items()]
    first_readings = [
        reading
        for name, found in mapped.items()
        if name not in staged.codes_as_stored
        for reading in first_reading_sql(found.column, site_map, parameters)
    ]
    values = [
        f"{column.name}_cell as {column.name}"
        if column.name in staged.codes_as_stored
        else f"{value_sql(column, mapped, site_map, parameters)} as {column.name}"
        for column in LOGGED_COLUMNS
        if column.name in read_names
    ]
    if "installed_at" in mapped and "installed_at" in names:
        lacks_time = lacks_time_sql("installed_at", site_map, parameters)
        values.append(f"{lacks_time} as installed_at_lacks_time")
    if site_map.night_until and "installed_on" in mapped:
        values.append(f"{day_sql('installed_on', site_map, parameters)} as dated_on")
    read = [column for column in columns if column.name not in staged.codes_as_stored]
    faults = " + ".join(_fault_bits(read, mapped)) or "0"
    raw_cells = [f"{name}_cell" for name in mapped]
    is_of_this_site = ""
    if staged.site_place is not None:
        # After the cells are filled down: they may stand in a row of another site.
        cells += [f"{staged.is_elsewhere_sql} as is_elsewhere", "site_cell"]
        is_of_this_site = "where not is_elsewhere"
        raw_cells.append("site_cell")
    carried = [*raw_cells, *within]
    as_named = {"record_id": f"{record_id_sql(site_map)} as record_id"}
    # A layer a step: DuckDB works a column of a subquery out once, where the same
    # expression written twice inside a CASE would be worked out twice.
    sql = f"""
select
    source_row, is_unreadable_line,
    {_listed(as_named.get(column.name, column.name) for column in columns)},
    ({faults})::ubigint as field_fault_mask,
    {_listed(raw_cells)}
from (
    select source_row, is_unreadable_line, {_listed([*values, *carried])}
    from (
        select
            source_row, is_unreadable_line,
            {_listed([*first_readings, *carried])}
        from (
            select
                {staged.row_sql} as source_row,
                {staged.unreadable_line_sql} as is_unreadable_line,
                {_listed(cells)}
            from staged_row
            where not is_blank_row
        )
        {is_of_this_site}
    )
)"""
    return Query(sql, parameters.values)


def distinct_codes(
    staged: StagedFile, site_map: SiteMap, columns: Iterable[MappedColumn]
) -> tuple[str, dict[str, object]]:
    """Return the SQL of the different cells of some code columns, and its parameters.

    Columns: name (the canonical column's), cell, code (as parsed_rows reads it).
    """
    parameters = Parameters()
    selects = []
    for found in columns:
        column = found.column
        # What is filled down stands in a cell above: no other cells come of it.
        read = _cell_sql(replace(found, fill_down=False), staged, site_map, parameters)
        [reading] = first_reading_sql(column, site_map, parameters)
        value = value_sql(column, {column.name: found}, site_map, parameters)
        cells = [staged.cell_sql(header) for header in found.own_headers]
        # But it may stand in a row of another site.
        is_here = "true" if found.fill_down else f"not ({staged.is_elsewhere_sql})"
        selects.append(
            f"""
select '{column.name}' as name, cell, {value} as code
from (
    select *, {reading}
    from (
        select {source_sql(found, staged)} as cell, {read} as {column.name}_cell
        from (
            select distinct {", ".join(cells or ["0"])}
            from staged_row where not is_blank_row and {is_here}
        )
    )
)"""
        )
    return " union all ".join(selects), parameters.values


def source_sql(found: MappedColumn, staged: StagedFile) -> str:
    """Return what stands for a column in a row of staged_row, as it was sent."""
    if found.always is not None:
        return f"{_quoted(found.always)}::varchar"
    if found.ticked:
        return _ticked_sql(found, staged)
    if found.parts and found.column.kind == "number":
        return _with_unit_sql(*map(staged.cell_sql, found.parts))
    if found.parts:
        cells = map(staged.cell_sql, found.parts)
        filled = ", ".join(f"nullif(trim({cell}), '')" for cell in cells)
        return f"nullif(concat_ws(' ', {filled}), '')"
    return piece_sql(found.piece, staged.cell_sql(found.header))


def _with_unit_sql(figure: str, unit: str) -> str:
    """Return the SQL of a figure with its unit behind it; of no figure, the cell."""
    has_both = f"contains_digit({figure}) and not is_blank({unit})"
    return f"if({has_both}, concat({figure}, ' ', trim({unit})), {figure})"


def _ticked_sql(found: MappedColumn, staged: StagedFile) -> str:
    """Return the SQL of the names of what is ticked; of two no column can be read."""
    names = ", ".join(
        f"if(is_ticked({staged.cell_sql(header)}), {_quoted(name)}, null)"
        for header, name in zip(found.parts, found.ticked, strict=True)
    )
    return f"nullif(concat_ws(' + ', {names}), '')"


def piece_sql(piece: Piece | None, cell: str) -> str:
    """Return the SQL of the value that is meant of a cell; of None, the cell."""
    if piece is None:
        return cell
    return f"piece_cell({cell}, {_pattern(piece)}, {piece.count}, {piece.place})"


def unmarked_sql(marks: Sequence[str], cell: str) -> str:
    """Return the SQL of a figure without the marks beside it; the cell without any."""
    if not marks:
        return cell
    before, behind = mark_patterns(marks)
    return f"unmarked_cell({cell}, {_quoted(before)}, {_quoted(behind)})"


def piece_fault_sql(piece: Piece | None, cell: str) -> str:
    """Return the condition that a cell holds another number of values."""
    if piece is None:
        return "false"
    return f"len(pieces_of({cell}, {_pattern(piece)})) != {piece.count}"


def _pattern(piece: Piece) -> str:
    """Return what parts the values of a cell: its sign, whatever its capitals.

    Blanks may stand around it, and must where the map has some.
    """
    sign = piece.sign.strip()
    if not sign:
        return _quoted(r"\s+")
    before, _, behind = piece.sign.partition(sign)
    blanks = [r"\s+" if one else r"\s*" for one in (before, behind)]
    return _quoted(f"(?i){re.escape(sign).join(blanks)}")


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"


def _listed(terms: Iterable[str]) -> str:
    return ",\n    ".join(terms)


def _cell_sql(
    found: MappedColumn,
    staged: StagedFile,
    site_map: SiteMap,
    parameters: Parameters,
) -> str:
    """Return the raw cell, merged cells filled down, the site's words made ours."""
    if found.week:
        return week_day_sql(found, staged, site_map, parameters)
    words = site_map.codes.get(found.column.name, {})
    if found.is_answers:
        answers = (
            _in_our_words(staged.cell_sql(header), words, parameters)
            for header in found.parts
        )
        return f"all_yes([{', '.join(answers)}], {source_sql(found, staged)})"
    cell = source_sql(found, staged)
    if found.column.name in staged.codes_as_stored:
        return cell
    if found.fill_down:
        cell = filled_down_sql(cell)
    cell = unmarked_sql(found.marks, cell)
    if found.column.kind in ("date", "instant"):
        cell = with_year_sql(cell, site_map.date_year, day_first=site_map.has_day_first)
    return _in_our_words(cell, words, parameters)


def _in_our_words(cell: str, words: Mapping[str, str], parameters: Parameters) -> str:
    """Return the SQL of a cell with the site's words made ours."""
    if not words:
        return cell
    branches = " ".join(
        f"when {parameters.add(word)} then {parameters.add(ours)}"
        for word, ours in words.items()
    )
    return f"case lower(trim({cell})) {branches} else {cell} end"


def _fault_bits(columns: list[Column], mapped: dict[str, MappedColumn]) -> list[str]:
    """Return a term a mapped column: its bit where a cell was there but not read."""
    bits = []
    for column in columns:
        name, cell = column.name, f"{column.name}_cell"
        is_fault = f"{name} is null and not is_blank({cell})"
        if name == "installed_at" and name in mapped:
            # A date alone leaves the time unrecorded; the date itself is kept.
            is_fault += " and not installed_at_lacks_time"
        elif name == "installed_at" and "installed_time" in mapped:
            is_fault = f"{name} is null and not is_blank(installed_time_cell)"
        elif name not in mapped:
            continue
        elif column.kind == "text":
            # Any text can be read, but for a spreadsheet's words for an error.
            is_fault = f"{name} is null and contains({cell}, '#')"
        bit = 1 << LOGGED_NAMES.index(name)
        bits.append(f"if({is_fault}, {bit}::ubigint, 0)")
    return bits
