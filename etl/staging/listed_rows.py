"""What the rows are of a log that lists its values, one a row."""

from dataclasses import dataclass

import duckdb

from etl.site_map import ListedValues, SiteMap
from etl.staging import limits
from etl.staging.staged_file import StagedFile, filled_down_sql, trimmed
from queries.columns import COLUMN_BY_NAME
from queries.errors import FirmsetError


@dataclass(frozen=True)
class Name:
    """What values are: `folded` as in listed_row, in how many rows, their header."""

    folded: str
    rows: int
    header: str


def mark_rows(
    con: duckdb.DuckDBPyConnection,
    staged: StagedFile,
    site_map: SiteMap,
    listed: ListedValues,
) -> None:
    """Make listed_row, which says of each row of staged_row what it is.

    Columns: place (its rowid there), file_row, is_blank_row, line, line_fault; anchor,
    the texts that tell it, NULL where the row holds nothing of one; spelled and name,
    what the value is, as it stands there and folded; cell, the value with its unit.
    """
    own = [text_of(staged, name) for name in listed.anchor]
    anchor = own
    is_its = f"coalesce({', '.join(own)}) is not null"
    if listed.fill_down:
        anchor = [filled_down_sql(staged.cell_sql(name)) for name in listed.anchor]
        is_its += f" or {text_of(staged, listed.name)} is not null"
    unit = "null::varchar" if listed.unit is None else text_of(staged, listed.unit)
    con.execute(
        rf"""
        create or replace temp table listed_row as
        with read as (
            select
                staged_row.rowid as place, {staged.row_sql} as file_row, is_blank_row,
                {"line" if staged.has_own_rows else "null::varchar"} as line,
                {staged.line_fault_sql} as own_fault,
                [{", ".join(anchor)}] as texts,
                if(
                    ({is_its}) and array_to_string(texts, '') != '', texts, null
                ) as anchor,
                {text_of(staged, listed.name)} as spelled,
                lower(regexp_replace(spelled, '\s+', ' ', 'g')) as name,
                {text_of(staged, listed.value)} as value,
                {unit} as unit,
                coalesce(
                    is_blank_row or {staged.is_title_sql}
                    or {staged.is_repeated_header_sql}
                    or (spelled is null and {staged.is_footer_sql}),
                    false
                ) as is_none
            from staged_row
        ),

        faulted as (
            select
                *,
                case
                    when own_fault is not null or is_none then own_fault
                    when name is not null and anchor is null then $no_anchor
                    when name is null and value is not null and anchor is not null
                        then $no_name
                end as line_fault
            from read
        )

        select
            place, file_row, is_blank_row, line, line_fault, spelled, name,
            if(line_fault is null and not is_none, anchor, null) as anchor,
            -- A unit behind a word, a date or a count would make it unreadable.
            case
                when
                    is_blank(unit) or not regexp_matches(value, '[0-9¼½¾⅛⅜⅝⅞]$')
                    or list_contains($bare, name)
                    then value
                else value || ' ' || unit
            end as cell
        from faulted
        """,
        staged.shape_parameters
        | {
            "no_anchor": f"{', '.join(listed.anchor)}: blank, expected which anchor "
            f"the value under {listed.value} is of",
            "no_name": f"{listed.name}: blank, expected what the value under "
            f"{listed.value} is",
            "bare": [
                _fold(header)
                for header, column in site_map.headers_read.items()
                if column in COLUMN_BY_NAME and COLUMN_BY_NAME[column].unit is None
            ],
        },
    )


def names_of(
    con: duckdb.DuckDBPyConnection,
    staged: StagedFile,
    site_map: SiteMap,
    listed: ListedValues,
) -> list[Name]:
    """Return what is named, first come first, by the site map's spelling if it has it.

    Capitals and blanks do not count.
    """
    most = limits.MAX_COLUMNS - staged.width
    found = con.execute(
        f"""
        select name, count(*), arg_min(spelled, place)
        from listed_row
        where anchor is not null and name is not null
        group by name
        order by min(place)
        limit {most + 1}
        """
    ).fetchall()
    if len(found) > most:
        raise FirmsetError(
            f"{staged.path}: more than {most} different texts stand under "
            f"{listed.name!r}; expected what a value is, as [listed] name of "
            f"{site_map.path.name} says"
        )
    known = {
        _fold(header): header for header in (*site_map.headers_read, *staged.headers)
    }
    return [
        Name(folded, rows, known.get(_fold(spelled), trimmed(spelled)))
        for folded, rows, spelled in found
    ]


def text_of(staged: StagedFile, header: str) -> str:
    """Return a trimmed cell of staged_row, NULL where it is blank."""
    return f"nullif(trim(staged_row.{staged.cell_sql(header)}), '')"


def _fold(name: str) -> str:
    return trimmed(name).lower()
