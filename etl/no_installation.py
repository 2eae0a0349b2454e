"""Rows of a log that are no installation, and hold nothing that is to be corrected.

They are counted and kept as every rejected row is. Mostly they are known among the rows
that lack a date, a crew or a setting code (etl/screen.py). Where a form says these once
for all its rows, or in merged cells, a signature, a total or a numbered row left blank
lacks none of them: there they are looked for among all rows that say none themselves.
"""

from collections.abc import Sequence

import duckdb

from etl.parse import parsed_rows
from etl.site_map import Beside, MappedColumn, SiteMap
from etl.staging import StagedFile

NO_INSTALLATION_CODES = (
    *("repeated_header", "footer_total", "not_a_row", "title", "only_number"),
    "no_anchor",
)
_DATES = ("installed_on", "installed_at")
_IDENTITY = (*_DATES, "crew_code", "setting_code")
# That such a value can be read is a sign of work. A text may be a signature.
_VALUES = ("number", "integer", "choice", "yes_no", "instant")


def mark_no_installations(
    con: duckdb.DuckDBPyConnection, staged: StagedFile, site_map: SiteMap
) -> None:
    """Set reason_code, in `identity`, of rows that might be taken for installations."""
    tests = {}
    if staged.title_places:
        tests["title"] = staged.is_title_sql
    if site_map.not_rows:
        tests["not_a_row"] = staged.begins_sql("not_rows")
    if not _own_headers(staged, site_map, _DATES, is_filled=False):
        # A name is no day: elsewhere the row is rejected for it.
        tests["repeated_header"] = staged.is_repeated_header_sql
    lacks = _lacks_identity_sql(staged, site_map)
    if lacks is not None:
        for code, is_one in (
            ("footer_total", staged.is_footer_sql),
            ("only_number", _is_only_number_sql(staged, site_map)),
        ):
            tests[code] = f"{lacks} and {is_one}"
    if site_map.sideways:
        tests["title"] = _is_empty_sql(staged, site_map)
    if site_map.beside is not None:
        tests["no_anchor"] = _lacks_anchor_sql(staged, site_map, site_map.beside)
    if not tests:
        return
    branches = " ".join(f"when {test} then '{code}'" for code, test in tests.items())
    parameters = {"not_rows": [word.lower() for word in site_map.not_rows]}
    shape: dict[str, object] = {}
    if "repeated_header" in tests:
        shape |= staged.header_parameters
    if "footer_total" in tests:
        shape |= staged.footer_parameters
    con.execute(
        f"""
        update identity set reason_code = marked.code
        from (
            select {staged.row_sql} as source_row, case {branches} end as code
            from staged_row
        ) as marked
        where
            identity.source_row = marked.source_row
            and marked.code is not null
            and reason_code is distinct from 'unreadable_line'
        """,
        shape | (parameters if "not_a_row" in tests else {}),
    )
    if lacks is not None:
        _mark_unreadable(con, staged, site_map, lacks)


def _lacks_anchor_sql(staged: StagedFile, site_map: SiteMap, beside: Beside) -> str:
    """Return the condition that a row has no such anchor: nothing is logged of it.

    Unless the row says that it has so many. Where nothing is logged of any, the first
    is one all the same, with nothing recorded.
    """
    blank = [
        " and ".join(
            f"is_blank(staged_row.{staged.cell_sql(name)})"
            for name in names
            if name in staged.headers
        )
        or "true"
        for names in beside.headers
    ]
    lacks = f"({blank[beside.place - 1]})"
    if beside.place == 1:
        lacks += f" and not ({' and '.join(blank)})"
    if site_map.anchor_count is not None:
        count = f"staged_row.{staged.cell_sql(site_map.anchor_count)}"
        number = rf"try_cast(regexp_extract({count}, '^\s*(\d+)', 1) as integer)"
        lacks += f" and not coalesce({number} >= {beside.place}, false)"
    return lacks


def _lacks_identity_sql(staged: StagedFile, site_map: SiteMap) -> str | None:
    """Return the condition that a row itself says no date, crew or setting code.

    None where each row has to say one of them.
    """
    if _own_headers(staged, site_map, _IDENTITY, is_filled=False):
        return None
    own = _own_headers(staged, site_map, _IDENTITY, is_filled=True)
    blank = (f"is_blank(staged_row.{staged.cell_sql(header)})" for header in own)
    return f"({' and '.join(blank)})" if own else "true"


def _own_headers(
    staged: StagedFile, site_map: SiteMap, names: Sequence[str], *, is_filled: bool
) -> list[str]:
    """Return where the rows themselves say these columns, in merged cells or not."""
    told = _told(staged, site_map)
    own = {
        header: found.fill_down
        for found in site_map.columns
        if found.column.name in names
        for header in found.own_headers
        if header not in told
    }
    return [header for header, fill_down in own.items() if fill_down is is_filled]


def _told(staged: StagedFile, site_map: SiteMap) -> set[str]:
    return {*site_map.said_once, *(name for name, _ in staged.told)}


def _own(staged: StagedFile, site_map: SiteMap) -> list[MappedColumn]:
    """Return the columns but the record's number that the row itself has."""
    told = _told(staged, site_map)
    return [
        found
        for found in site_map.columns
        if found.column.name not in ("record_id", "revision")
        and not told.issuperset(found.own_headers)
    ]


def _is_empty_sql(staged: StagedFile, site_map: SiteMap) -> str:
    """Return the condition that a row has nothing that is read: its titles alone."""
    told = _told(staged, site_map)
    cells = [
        f"nullif(trim(staged_row.{staged.cell_sql(header)}), '')"
        for header in site_map.headers_read
        if header not in told
    ]
    return f"coalesce({', '.join(cells)}) is null" if cells else "false"


def _is_only_number_sql(staged: StagedFile, site_map: SiteMap) -> str:
    cells = [
        f"nullif(trim(staged_row.{staged.cell_sql(header)}), '')"
        for found in _own(staged, site_map)
        for header in found.own_headers
    ]
    return f"coalesce({', '.join(cells)}) is null" if cells else "false"


def _mark_unreadable(
    con: duckdb.DuckDBPyConnection,
    staged: StagedFile,
    site_map: SiteMap,
    lacks: str,
) -> None:
    """Reject the rows of which no value can be read, where the log has any.

    `lacks`: the condition that a row says no date, crew or setting code.
    """
    own = [found.column for found in _own(staged, site_map) if not found.fill_down]
    names = [column.name for column in own if column.kind in _VALUES]
    if not names:
        return
    rows = parsed_rows(staged, site_map, names)
    con.execute(
        f"""
        update identity set
            reason_code = 'no_value',
            reason = 'no value can be read, expected one at least'
        from ({rows.sql}) as read
        inner join staged_row on read.source_row = {staged.row_sql}
        where
            identity.source_row = read.source_row
            and reason_code is null
            and {lacks}
            and coalesce({", ".join(f"{name}::varchar" for name in names)}) is null
        """,
        rows.parameters,
    )


def settled_words(settled: int, rejected: int) -> str:
    """Return the remark of a receipt that `settled` of its rows are none."""
    of = (
        f"{settled} of {rejected} rejected rows" if rejected > 1 else "the rejected row"
    )
    none = "is no installation" if settled == 1 else "are no installations"
    return f"{of} {none}: nothing to correct"
