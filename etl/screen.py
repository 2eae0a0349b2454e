"""Decide what becomes of each row of a staged file, before anything is written.

Makes the temporary tables `rejected` (rows that cannot be taken, with reason) and
`fate` (rows of records that come more than once); every other row is plainly loaded.
"""

from pathlib import Path

import duckdb

from etl.parse import Query, expectation
from etl.site_map import SiteMap
from etl.staging import StagedFile
from queries.columns import LOGGED_NAMES

FATE_SQL = (Path(__file__).parent / "fate.sql").read_text("utf-8")

# What two rows must share to be the same: all values, and what could not be read.
CONTENT = "row(" + ", ".join((*LOGGED_NAMES, "field_fault_mask")) + ")"

# In this order: a row is rejected for the first that applies.
REASONS = {
    "unreadable_line": "is_unreadable_line",
    "no_record_id": "record_id is null",
    "no_date": "installed_on is null",
    "no_crew_code": "crew_code is null",
    "no_setting_code": "setting_code is null",
    "unknown_setting_code": (
        "setting_code not in (select setting_code from setting_data)"
    ),
}


def screen(
    con: duckdb.DuckDBPyConnection,
    rows: Query,
    staged: StagedFile,
    site_map: SiteMap,
) -> None:
    """Fill the temporary tables `identity`, `rejected` and `fate`."""
    _read_identities(con, rows)
    _collect_rejected(con, rows, staged, site_map)
    _collect_contested(con, rows, site_map)
    con.execute(FATE_SQL)
    _reject_conflicts(con, staged)


def _read_identities(con: duckdb.DuckDBPyConnection, rows: Query) -> None:
    reason = " ".join(f"when {test} then '{code}'" for code, test in REASONS.items())
    con.execute(
        f"""
        create or replace temp table identity as
        select source_row, record_id, case {reason} end as reason_code
        from ({rows.sql})
        """,
        rows.parameters,
    )


def _collect_rejected(
    con: duckdb.DuckDBPyConnection,
    rows: Query,
    staged: StagedFile,
    site_map: SiteMap,
) -> None:
    mapped = {found.column.name: found for found in site_map.columns}
    date_name = "installed_on" if "installed_on" in mapped else "installed_at"

    def cell(name: str) -> str:
        return f"coalesce('''' || {name}_cell || '''', 'blank')"

    words = {
        "unreadable_line": "$line_words",
        "no_record_id": f"$record_id_header || ': ' || {cell('record_id')} || "
        "', expected a record''s own number'",
        "no_date": f"$date_header || ': ' || {cell(date_name)} || ', ' || $date_words",
        "no_crew_code": f"$crew_header || ': ' || {cell('crew_code')} || "
        "', expected a crew''s code'",
        "no_setting_code": f"$setting_header || ': ' || {cell('setting_code')} || "
        "', expected a setting code'",
        "unknown_setting_code": f"$setting_header || ': ' || {cell('setting_code')} || "
        "' is not in the setting data'",
    }
    branches = " ".join(f"when '{code}' then {text}" for code, text in words.items())
    con.execute(
        f"""
        create or replace temp table rejected as
        with refused as (
            select source_row, reason_code from identity where reason_code is not null
        ),
        refused_row as (
            select parsed.*, refused.reason_code
            from ({rows.sql}) as parsed
            inner join refused on parsed.source_row = refused.source_row
        )
        select
            source_row,
            reason_code,
            case reason_code {branches} end as reason,
            {staged.raw_text_sql} as raw_text
        from refused_row
        inner join staged_row
            on refused_row.source_row = staged_row.rowid + {staged.first_row}
        """,
        {
            **rows.parameters,
            **staged.raw_text_parameters,
            "line_words": "not a JSON object"
            if staged.is_json
            else f"more cells than the {len(staged.headers)} columns of the header",
            "record_id_header": mapped["record_id"].header,
            "date_header": mapped[date_name].header,
            "date_words": expectation("installed_on", site_map),
            "crew_header": mapped["crew_code"].header,
            "setting_header": mapped["setting_code"].header,
        },
    )


def _collect_contested(
    con: duckdb.DuckDBPyConnection, rows: Query, site_map: SiteMap
) -> None:
    """Gather all rows, new and held, of records that come more than once.

    Most files name each record once and none that is held; then this costs one count
    of distinct keys and one look at the site's keys, and the table stays empty.
    """
    site = {"site_code": site_map.site_code}
    con.execute(
        """
        create or replace temp table contested_record as
        select record_id from identity
        where reason_code is null
        group by record_id
        having count(*) > 1
        union
        select record_id from installation
        where
            site_code = $site_code
            and record_id in (select record_id from identity where reason_code is null)
        """,
        site,
    )
    held = " union all ".join(
        f"""
        select record_id, revision, source_file_id, source_row, {CONTENT} as content
        from {table}
        where
            site_code = $site_code
            and record_id in (select record_id from contested_record)
        """
        for table in ("installation", "superseded_installation")
    )
    con.execute(f"create or replace temp table contested as {held}", site)
    if con.execute("select count(*) from contested_record").fetchall() == [(0,)]:
        return
    names = ", ".join(
        "coalesce(revision, 0)" if name == "revision" else name for name in LOGGED_NAMES
    )
    con.execute(
        f"""
        insert into contested
        select
            record_id, coalesce(revision, 0), null, source_row,
            row({names}, field_fault_mask)
        from ({rows.sql})
        where
            record_id in (select record_id from contested_record)
            and source_row in (
                select source_row from identity where reason_code is null
            )
        """,
        rows.parameters,
    )


def _reject_conflicts(con: duckdb.DuckDBPyConnection, staged: StagedFile) -> None:
    con.execute(
        f"""
        insert into rejected
        select
            source_row,
            'conflict',
            'record ' || record_id || ' revision ' || revision
            || ' is held already with other content; expected a higher revision',
            {staged.raw_text_sql}
        from fate
        inner join staged_row
            on fate.source_row = staged_row.rowid + {staged.first_row}
        where fate = 'conflict' and source_file_id is null
        """,
        staged.raw_text_parameters,
    )
