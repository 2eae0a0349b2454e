"""SQL of dates, times of day and instants, as a site map says they are written."""

from etl.clock import open_half_hours
from etl.odd_dates import DateOrder
from etl.query import Parameters
from etl.site_map import MappedColumn, SiteMap
from etl.site_map.directives import has_time
from etl.site_map.years import with_year_sql
from etl.staging import StagedFile, filled_down_sql

_DAY_FORMATS = {"day": "%d-%m-%Y", "month": "%m-%d-%Y"}
_TIME_FORMATS = ("", " %H:%M", " %H:%M:%S")

# The time of day of a row that has a column for it.
_CLOCK = (
    "case when installed_time_read is not null then installed_time_read "
    "when installed_time_cell is null then null "
    "else odd_time(installed_time_cell) end"
)


def date_order(site_map: SiteMap) -> DateOrder:
    """Return what a site map says of the order of day and month."""
    if site_map.day_first is not None:
        return "day" if site_map.day_first else "month"
    return "format" if site_map.date_format else "unsaid"


def first_moment_sql(name: str, site_map: SiteMap, parameters: Parameters) -> list[str]:
    """Return the plain reading of a cell: its local time, and its instant.

    Columns <name>_local and, where cells with an offset are read in plain,
    <name>_instant.
    """
    if site_map.date_format:
        reading = formatted_sql(f"{name}_cell", site_map, parameters)
        if has_offset(site_map):
            zone = parameters.add(site_map.time_zone)
            return [
                f"{reading} at time zone {zone} as {name}_local",
                f"{reading} as {name}_instant",
            ]
        return [f"{reading} as {name}_local"]
    order = date_order(site_map)
    if order in _DAY_FORMATS:
        formats = [_DAY_FORMATS[order] + clock for clock in _TIME_FORMATS]
        reading = (
            f"ordered_local(trim({name}_cell), {parameters.add(formats)}::varchar[])"
        )
        return [f"{reading} as {name}_local"]
    return [
        f"iso_local({name}_cell) as {name}_local",
        f"iso_instant({name}_cell) as {name}_instant",
    ]


def formatted_sql(cell: str, site_map: SiteMap, parameters: Parameters) -> str:
    """Return a cell read in the site map's own format; an instant if has_offset."""
    return f"try_strptime(trim({cell}), {parameters.add(site_map.date_format)})"


def has_offset(site_map: SiteMap) -> bool:
    """Say whether the site map's own format gives each time its offset from UTC."""
    return "%z" in (site_map.date_format or "")


def _reads_instants(site_map: SiteMap) -> bool:
    """Say whether first_moment_sql gives an instant column."""
    return has_offset(site_map) or (
        not site_map.date_format and site_map.day_first is None
    )


def day_sql(name: str, site_map: SiteMap, parameters: Parameters) -> str:
    """Return the site's own date of a cell."""
    branches = [f"when is_dated({name}_local) then {name}_local::date"]
    if _reads_instants(site_map):
        zone = parameters.add(site_map.time_zone)
        local = f"({name}_instant at time zone {zone})"
        branches.append(f"when is_dated({local}) then {local}::date")
    odd = _odd_sql("odd_day", name, site_map, parameters)
    return (
        f"case {' '.join(branches)} when {name}_cell is null then null else {odd} end"
    )


def instant_sql(name: str, site_map: SiteMap, parameters: Parameters) -> str:
    """Return the instant of a cell; NULL where it has no time of day."""
    local = f"{name}_local"
    settled = _settled_sql(local, site_map, parameters)
    branches = [
        (
            f"when is_dated({local}) then if({_has_time_sql(name, site_map)}, "
            f"{settled}, null)"
        )
    ]
    if _reads_instants(site_map):
        zone = parameters.add(site_map.time_zone)
        dated = f"is_dated({name}_instant at time zone {zone})"
        branches.insert(0, f"when {dated} then {name}_instant")
    odd = _odd_sql("odd_instant", name, site_map, parameters)
    return (
        f"case {' '.join(branches)} when {name}_cell is null then null "
        f"else {odd} at time zone 'UTC' end"
    )


def lacks_time_sql(name: str, site_map: SiteMap, parameters: Parameters) -> str:
    """Return the condition that a cell is a date without a time of day."""
    odd = _odd_sql("odd_lacks_time", name, site_map, parameters)
    return (
        f"case when is_dated({name}_local) then not {_has_time_sql(name, site_map)} "
        f"when {name}_cell is null then false else {odd} end"
    )


def day_and_time_sql(site_map: SiteMap, parameters: Parameters) -> str:
    """Return the instant of a date and a time of day in two columns."""
    day = day_of_row_sql(site_map, parameters)
    return _settled_sql(f"({day} + {_CLOCK})", site_map, parameters)


def day_of_row_sql(site_map: SiteMap, parameters: Parameters) -> str:
    """Return the day on which a row was set: of a night's small hours, the next one.

    As the map says it; a row without a time of day keeps its date.
    """
    written = day_sql("installed_on", site_map, parameters)
    if site_map.night_until is None:
        return written
    until = parameters.add(site_map.night_until)
    return f"({written} + if({_CLOCK} < {until}::time, 1, 0))"


def week_day_sql(
    found: MappedColumn, staged: StagedFile, site_map: SiteMap, parameters: Parameters
) -> str:
    """Return a day by its week and weekday as ISO 8601 has it; unread, both cells.

    A week without its weekday is no day: its own date alone would be read as one.
    """
    cells = [staged.cell_sql(header) for header in found.parts]
    if found.fill_down:
        cells = [filled_down_sql(cell) for cell in cells]
    sent = ", ' + ', ".join(f"trim(coalesce({cell}, ''))" for cell in cells)
    week, weekday = cells
    week = with_year_sql(week, site_map.date_year, day_first=site_map.has_day_first)
    if site_map.date_format:
        read = formatted_sql(week, site_map, parameters)
        week = f"coalesce(({read})::date::varchar, {week})"
    order = parameters.add(date_order(site_map))
    zone = parameters.add(site_map.time_zone)
    return (
        f"coalesce(week_day({week}, {weekday}, '{found.week}', {order}, {zone})"
        f"::varchar, nullif(concat({sent}), ' + '))"
    )


def _has_time_sql(name: str, site_map: SiteMap) -> str:
    if site_map.date_format:
        return "true" if has_time(site_map.date_format) else "false"
    return f"contains({name}_cell, ':')"


def _odd_sql(
    function: str, name: str, site_map: SiteMap, parameters: Parameters
) -> str:
    order = parameters.add(date_order(site_map))
    return f"{function}({name}_cell, {order}, {parameters.add(site_map.time_zone)})"


def _settled_sql(local: str, site_map: SiteMap, parameters: Parameters) -> str:
    """Return the instant of a local time; NULL where the clock change leaves it open.

    Clock times that were skipped or that came twice do not name one instant. All
    zones change on a half hour, so half hours are compared.
    """
    half_hours = parameters.add(open_half_hours(site_map.time_zone))
    zone = parameters.add(site_map.time_zone)
    bucket = f"time_bucket(interval 30 minutes, {local})"
    return (
        f"if({bucket} in (select unnest({half_hours}::timestamp[])), null, "
        f"{local} at time zone {zone})"
    )
