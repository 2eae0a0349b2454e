"""SQL of the values of one canonical column, from its cell and its plain reading."""

from etl.date_sql import (
    day_and_time_sql,
    day_of_row_sql,
    day_sql,
    first_moment_sql,
    instant_sql,
)
from etl.odd_numbers import TIMES
from etl.query import Parameters
from etl.site_map import MappedColumn, SiteMap
from etl.units import split_factor
from queries.columns import Column

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

# A count of what was done to a hole may be written 2x.
COUNTED = ("brush_count", "blow_count")


def first_reading_sql(
    column: Column, site_map: SiteMap, parameters: Parameters
) -> list[str]:
    """Return the plain readings of a cell, each as a column of its own."""
    cell = f"{column.name}_cell"
    match column.kind:
        case "number" | "integer":
            style = "comma" if site_map.decimal == "," else "point"
            reading = f"plain_{style}({cell})"
        case "yes_no" | "choice":
            return []
        case "date" | "instant":
            return first_moment_sql(column.name, site_map, parameters)
        case "time":
            reading = f"try_cast(trim({cell}) as time)"
        case _:
            reading = f"trim({cell})"
    return [f"{reading} as {column.name}_read"]


def value_sql(
    column: Column,
    mapped: dict[str, MappedColumn],
    site_map: SiteMap,
    parameters: Parameters,
) -> str:
    """Return a canonical column: NULL where blank, not mapped or not readable."""
    if column.name == "installed_on" and "installed_on" not in mapped:
        return day_sql("installed_at", site_map, parameters)
    if column.name == "installed_at" and "installed_at" not in mapped:
        if "installed_time" in mapped and "installed_on" in mapped:
            return day_and_time_sql(site_map, parameters)
        return "null::timestamptz"
    if column.name not in mapped:
        return f"null::{SQL_TYPES[column.kind]}"
    reading, cell = f"{column.name}_read", f"{column.name}_cell"
    match column.kind:
        case "text":
            return f"text_cell({reading})"
        case "code":
            return f"upper(code_cell({reading}))"
        case "yes_no":
            return f"yes_no({cell})"
        case "choice":
            return f"choice({cell}, {parameters.add(list(column.choices))})"
        case "integer":
            return f"whole({_number_sql(mapped[column.name], site_map, parameters)})"
        case "number":
            return _number_sql(mapped[column.name], site_map, parameters)
        case "date":
            return day_of_row_sql(site_map, parameters)
        case _:
            return instant_sql(column.name, site_map, parameters)


def _number_sql(found: MappedColumn, site_map: SiteMap, parameters: Parameters) -> str:
    """Return a quantity in our unit; a clear distance is infinitely far."""
    name = found.column.name
    reading, cell = f"{name}_read", f"{name}_cell"
    if found.factor == 1.0:
        plain = f"when is_quantity({reading}) then {reading}"
    else:
        upper, lower = (
            f"{parameters.add(part)}::double" for part in split_factor(found.unit or "")
        )
        plain = (
            f"when can_scale({reading}, {cell}) "
            f"then scaled({reading}, {upper}, {lower})"
        )
    clear = (
        f"when lower(trim({cell})) = 'clear' then 'infinity'::double"
        if found.column.is_clearable
        else ""
    )
    unit = TIMES if name in COUNTED else found.unit
    decimal, unit = parameters.add(site_map.decimal), parameters.add(unit)
    return (
        f"case {plain} when {cell} is null then null {clear} "
        f"else odd_number({cell}, {decimal}, {unit}::varchar) end"
    )
