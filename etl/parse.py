"""From a file's cells to canonical values: the SELECT that a site map stands for."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from etl.clock import open_half_hours
from etl.site_map import MappedColumn, SiteMap
from etl.staging import StagedFile
from queries.columns import COLUMN_BY_NAME, LOGGED_COLUMNS, LOGGED_NAMES, Column

SQL_TYPES = {
    "text": "varchar",
    "code": "varchar",
    "choice": "varchar",
    "number": "double",
    "integer": "integer",
    "yes_no": "boolean",
    "date": "date",
    "time": "varchar",
    "instant": "timestamptz",
}


@dataclass(frozen=True)
class Query:
    """A SELECT with the values it needs, never spliced into its text."""

    sql: str
    parameters: dict[str, object]


class _Parameters:
    """Hands out parameter names for values."""

    def __init__(self) -> None:
        self.values: dict[str, object] = {}

    def add(self, value: object) -> str:
        name = f"p{len(self.values)}"
        self.values[name] = value
        return f"${name}"


# Those that decide whether a row can be taken, and what they are read from.
IDENTITY_NAMES = ("record_id", "installed_on", "crew_code", "setting_code")
_READ_FOR = {"installed_on": ("installed_at",), "installed_at": ("installed_time",)}


def parsed_rows(
    staged: StagedFile, site_map: SiteMap, names: Sequence[str] = LOGGED_NAMES
) -> Query:
    """Return the SELECT of a staged file's rows in canonical columns.

    Columns: source_row, is_unreadable_line, the canonical columns `names` (NULL where
    blank, not mapped or not readable), field_fault_mask of these, and `<column>_cell`,
    the raw text, for each that is mapped. One row per staged row that is not blank
    altogether. A statement costs by its columns even where they are not used.
    """
    parameters = _Parameters()
    needed = {*names, *(also for name in names for also in _READ_FOR.get(name, ()))}
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
    first_readings = [
        f"{_first_reading_sql(found.column, site_map)} as {name}_read"
        for name, found in mapped.items()
    ]
    values = [
        f"{_value_sql(column, mapped, site_map, parameters)} as {column.name}"
        for column in columns
    ]
    faults = " + ".join(_fault_bits(columns, mapped)) or "0"
    raw_cells = [f"{name}_cell" for name in mapped]
    # A layer a step: DuckDB works a column of a subquery out once, where the same
    # expression written twice inside a CASE would be worked out twice.
    sql = f"""
select
    source_row, is_unreadable_line,
    {_listed(column.name for column in columns)},
    ({faults})::ubigint as field_fault_mask,
    {_listed(raw_cells)}
from (
    select source_row, is_unreadable_line, {_listed(values)}, {_listed(raw_cells)}
    from (
        select
            source_row, is_unreadable_line,
            {_listed(first_readings)}, {_listed(raw_cells)}
        from (
            select
                {staged.row_sql} as source_row,
                {staged.unreadable_line_sql} as is_unreadable_line,
                {_listed(cells)}
            from staged_row
            where not is_blank_row
        )
    )
)"""
    return Query(sql, parameters.values)


def _listed(terms: Iterable[str]) -> str:
    return ",\n    ".join(terms)


def _cell_sql(
    found: MappedColumn,
    staged: StagedFile,
    site_map: SiteMap,
    parameters: _Parameters,
) -> str:
    """Return the raw cell, merged cells filled down, the site's words made ours."""
    cell = staged.cell_sql(found.header)
    if found.fill_down:
        cell = (
            f"last_value(nullif(trim({cell}), '') ignore nulls) over "
            "(order by rowid rows between unbounded preceding and current row)"
        )
    words = site_map.codes.get(found.column.name)
    if not words:
        return cell
    branches = " ".join(
        f"when {parameters.add(word)} then {parameters.add(ours)}"
        for word, ours in words.items()
    )
    return f"case lower(trim({cell})) {branches} else {cell} end"


def _value_sql(
    column: Column,
    mapped: dict[str, MappedColumn],
    site_map: SiteMap,
    parameters: _Parameters,
) -> str:
    if column.name == "installed_on":
        return _installed_on_sql(mapped, site_map, parameters)
    if column.name == "installed_at":
        return _installed_at_sql(mapped, site_map, parameters)
    if column.name not in mapped:
        return f"null::{SQL_TYPES[column.kind]}"
    reading = f"{column.name}_read"
    match column.kind:
        case "text":
            return f"text_cell({reading})"
        case "code":
            return f"upper(text_cell({reading}))"
        case "yes_no":
            return f"yes_no_word({reading})"
        case "choice":
            words = parameters.add(list(column.choices))
            return f"if(list_contains({words}, {reading}), {reading}, null)"
        case "integer":
            slow = f"slow_{_decimal(site_map)}({column.name}_cell)"
            return f"whole(if({reading} is null, {slow}, {reading}))"
        case "number":
            return _number_sql(column, mapped[column.name], site_map, parameters)
        case _:
            local = _local_time_sql(f"{column.name}_cell", site_map, parameters)
            return _to_instant_sql(local, site_map, parameters)


def _first_reading_sql(column: Column, site_map: SiteMap) -> str:
    cell = f"{column.name}_cell"
    match column.kind:
        case "number" | "integer":
            return f"plain_{_decimal(site_map)}({cell})"
        case "yes_no" | "choice":
            return f"lower(trim({cell}))"
        case _:
            return f"trim({cell})"


def _decimal(site_map: SiteMap) -> str:
    return "comma" if site_map.decimal == "," else "point"


def _number_sql(
    column: Column,
    found: MappedColumn,
    site_map: SiteMap,
    parameters: _Parameters,
) -> str:
    """Return a quantity in our unit; a clear distance is infinitely far."""
    reading = f"{column.name}_read"
    times = f" * {parameters.add(found.factor)}::double" if found.factor != 1.0 else ""
    clear = (
        f"when lower(trim({column.name}_cell)) = 'clear' then 'infinity'::double "
        if column.is_clearable
        else ""
    )
    slow = f"slow_{_decimal(site_map)}({column.name}_cell)"
    if found.unit == "in":
        slow = f"coalesce(fraction_cell({column.name}_cell), {slow})"
    return (
        f"case when is_quantity({reading}) then {reading}{times} {clear}"
        f"else {slow}{times} end"
    )


def _local_time_sql(cell: str, site_map: SiteMap, parameters: _Parameters) -> str:
    if site_map.date_format:
        return f"try_strptime(trim({cell}), {parameters.add(site_map.date_format)})"
    return f"try_cast(trim({cell}) as timestamp)"


def _installed_on_sql(
    mapped: dict[str, MappedColumn], site_map: SiteMap, parameters: _Parameters
) -> str:
    name = "installed_on" if "installed_on" in mapped else "installed_at"
    if name == "installed_at" and not site_map.date_format:
        # With an offset the cell is an instant; its date is the site's own.
        zone = parameters.add(site_map.time_zone)
        return (
            f"if({_HAS_OFFSET}, (try_cast(trim(installed_at_cell) as timestamptz) "
            f"at time zone {zone})::date, "
            "try_cast(trim(installed_at_cell) as timestamp)::date)"
        )
    return f"{_local_time_sql(f'{name}_cell', site_map, parameters)}::date"


_HAS_OFFSET = r"regexp_matches(installed_at_cell, ':[0-9.]+\s*(Z|[+-][0-9:]+)$')"


def _installed_at_sql(
    mapped: dict[str, MappedColumn], site_map: SiteMap, parameters: _Parameters
) -> str:
    if "installed_at" in mapped:
        local = _local_time_sql("installed_at_cell", site_map, parameters)
        instant = _to_instant_sql(local, site_map, parameters)
        if site_map.date_format:
            return instant
        return (
            f"if({_HAS_OFFSET}, try_cast(trim(installed_at_cell) as timestamptz), "
            f"{instant})"
        )
    if "installed_time" not in mapped or "installed_on" not in mapped:
        return "null::timestamptz"
    day = f"{_local_time_sql('installed_on_cell', site_map, parameters)}::date"
    return _to_instant_sql(
        f"({day} + try_cast(trim(installed_time_cell) as time))", site_map, parameters
    )


def _to_instant_sql(local: str, site_map: SiteMap, parameters: _Parameters) -> str:
    """Return the instant of a local time; NULL where the clock change leaves it open.

    Clock times that were skipped or that came twice do not name one instant. All
    zones change on a half hour, so half hours are compared.
    """
    half_hours = parameters.add(open_half_hours(site_map.time_zone))
    zone = parameters.add(site_map.time_zone)
    bucket = f"time_bucket(interval 30 minutes, {local}::timestamp)"
    return (
        f"if({bucket} in (select unnest({half_hours}::timestamp[])), null, "
        f"{local}::timestamp at time zone {zone})"
    )


def _fault_bits(columns: list[Column], mapped: dict[str, MappedColumn]) -> list[str]:
    """Return a term a mapped column: its bit where a cell was there but not read."""
    bits = []
    for column in columns:
        cell = f"{column.name}_cell"
        if column.name == "installed_at" and "installed_time" in mapped:
            cell = "installed_time_cell"
        elif column.name not in mapped or column.kind in ("text", "code"):
            continue
        bits.append(
            f"if({column.name} is null and not is_blank({cell}), "
            f"{1 << LOGGED_NAMES.index(column.name)}::ubigint, 0)"
        )
    return bits


def expectation(name: str, site_map: SiteMap) -> str:
    """Say what a cell of this column should have been, for a fault's reason."""
    column = COLUMN_BY_NAME[name]
    unit = next(
        (found.unit for found in site_map.columns if found.column.name == name),
        column.unit,
    )
    match column.kind:
        case "number":
            clear = ", or clear" if column.is_clearable else ""
            comma = " with decimal comma" if site_map.decimal == "," else ""
            return f"expected a number of {unit}{comma}, 0 or more{clear}"
        case "integer":
            return "expected a whole number, 0 or more"
        case "yes_no":
            return "expected yes or no"
        case "choice":
            return f"expected one of {', '.join(column.choices)}"
        case "date":
            return f"expected a date as {site_map.date_format or '2026-01-31'}"
        case _:
            return (
                f"expected a time as {site_map.date_format or '2026-01-31T07:45'} "
                f"that the clocks of {site_map.time_zone} show exactly once"
            )
