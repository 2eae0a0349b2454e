"""What a cell should have been: the words of a reason."""

from datetime import UTC, datetime

from etl.date_sql import date_order, formatted_sql, has_offset
from etl.odd_dates import FIRST_YEAR, DateOrder
from etl.query import Parameters
from etl.site_map import Piece, SiteMap
from queries.columns import COLUMN_BY_NAME, Column

_DATES: dict[DateOrder, str] = {
    "day": "31.01.2026 or 2026-01-31",
    "month": "01/31/2026 or 2026-01-31",
    "unsaid": "2026-01-31",
}
_TIMES: dict[DateOrder, str] = {
    "day": "31.01.2026 07:45 or 2026-01-31T07:45",
    "month": "01/31/2026 07:45 or 2026-01-31T07:45",
    "unsaid": "2026-01-31T07:45",
}

_EXAMPLE = datetime(2026, 1, 31, 7, 45, tzinfo=UTC)


def expectation(name: str, site_map: SiteMap) -> str:
    """Say what a cell of this column should have been, for a fault's reason."""
    column = COLUMN_BY_NAME[name]
    match column.kind:
        case "number":
            return _expected_number(column, site_map)
        case "integer":
            return "expected a whole number, 0 or more"
        case "yes_no":
            return "expected yes or no"
        case "choice":
            return f"expected one of {', '.join(column.choices)}"
        case "date":
            example = _example(site_map) or _DATES[date_order(site_map)]
            return (
                f"expected a date as {example}, from {FIRST_YEAR} on, or a "
                "spreadsheet's number of a day (1900 system)"
            )
        case "text":
            return "expected a text, not a spreadsheet's word for an error"
        case "code":
            return "expected a code, which has a letter or a digit"
        case _:
            return _expected_time(name, site_map)


def _example(site_map: SiteMap) -> str:
    """Return a moment as the map's own format writes it; "" where it names none."""
    # %-d is a day without its zero, which not every system's library knows.
    return _EXAMPLE.strftime((site_map.date_format or "").replace("%-", "%"))


def expected_pieces(piece: Piece) -> str:
    """Say how many values a cell should have held."""
    return f"expected {piece.count} values in the cell, parted by {piece.sign!r}"


def _expected_number(column: Column, site_map: SiteMap) -> str:
    unit = next(
        (found.unit for found in site_map.columns if found.column.name == column.name),
        column.unit,
    )
    clear = ", or clear" if column.is_clearable else ""
    comma = " with decimal comma" if site_map.decimal == "," else ""
    return f"expected a number of {unit}{comma}, 0 or more{clear}"


def _expected_time(name: str, site_map: SiteMap) -> str:
    example = _example(site_map) or _TIMES[date_order(site_map)]
    if name == "installed_time":
        example = "07:45"
    return f"expected a time as {example}"


def reason_sql(name: str, cell: str, site_map: SiteMap, parameters: Parameters) -> str:
    """Return the reason of a fault: what was found where that is known, and expected.

    `cell` is the SQL of the raw cell of the column `name`; that of a time of day in a
    column of its own stands beside the row's `installed_on`.
    """
    expected = parameters.add(expectation(name, site_map))
    match COLUMN_BY_NAME[name].kind:
        case "number" | "integer":
            unit = next(
                found.unit for found in site_map.columns if found.column.name == name
            )
            style = f"{parameters.add(site_map.decimal)}, {parameters.add(unit)}"
            return f"number_words({cell}, {style}::varchar) || {expected}"
        case "date" | "instant" as kind:
            function = "date_words" if kind == "date" else "instant_words"
            order = parameters.add(date_order(site_map))
            zone = parameters.add(site_map.time_zone)
            found = f"{function}({cell}, {order}, {zone})"
            # A time with its offset is an instant, whatever the clocks did.
            is_local = site_map.date_format and not has_offset(site_map)
            if kind == "instant" and is_local:
                local = formatted_sql(cell, site_map, parameters)
                found = f"coalesce(nullif(clock_words({local}, {zone}), ''), {found})"
            return f"{found} || {expected}"
        case "time":
            zone = parameters.add(site_map.time_zone)
            return f"clock_words(installed_on + odd_time({cell}), {zone}) || {expected}"
        case _:
            return f"{expected}::varchar"
