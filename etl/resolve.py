"""Settle records that come more than once: duplicates, conflicts and revisions.

Works on the rows as they stand in the ledger, the file's own included. Most files name
each record once and none that is held; then it costs one count of distinct records.
"""

from pathlib import Path

import duckdb

from etl.staging import StagedFile
from queries.columns import LOGGED_NAMES
from queries.tally import add_to_tally_sql

FATE_SQL = (Path(__file__).parent / "fate.sql").read_text("utf-8")

# What two rows must share to be the same: all values, and what could not be read.
CONTENT = "row(" + ", ".join((*LOGGED_NAMES, "field_fault_mask")) + ")"


def resolve(
    con: duckdb.DuckDBPyConnection,
    staged: StagedFile,
    site_code: str,
    source_file_id: int,
) -> None:
    """Leave one current row a record, and fill the temporary table `fate`.

    Takes the file's duplicates and conflicts out of installation (conflicts go to
    `rejected`), moves lower revisions to superseded_installation, and takes those
    that had been counted out of the tally.
    """
    _gather_contested(con, site_code, source_file_id)
    con.execute(FATE_SQL)
    if con.execute("select count(*) from fate").fetchall() == [(0,)]:
        return
    _reject_conflicts(con, staged)
    con.execute(
        """
        delete from installation
        where source_file_id = $source_file_id and source_row in (
            select source_row from fate
            where is_new and fate in ('duplicate', 'conflict')
        )
        """,
        {"source_file_id": source_file_id},
    )
    _move_superseded(con, site_code, source_file_id)


def _gather_contested(
    con: duckdb.DuckDBPyConnection, site_code: str, source_file_id: int
) -> None:
    parameters = {"site_code": site_code, "source_file_id": source_file_id}
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
            and source_file_id != $source_file_id
            and record_id in (select record_id from identity where reason_code is null)
        """,
        parameters,
    )
    rows = " union all ".join(
        f"""
        select
            record_id, revision, source_file_id, source_row,
            source_file_id = $source_file_id as is_new,
            {CONTENT} as content
        from {table}
        where
            site_code = $site_code
            and record_id in (select record_id from contested_record)
        """
        for table in ("installation", "superseded_installation")
    )
    con.execute(f"create or replace temp table contested as {rows}", parameters)


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
        inner join staged_row on source_row = {staged.row_sql}
        where fate = 'conflict' and is_new
        """,
        staged.raw_text_parameters,
    )


def _move_superseded(
    con: duckdb.DuckDBPyConnection, site_code: str, source_file_id: int
) -> None:
    con.execute(
        """
        create or replace temp table displaced as
        select installation.* from installation
        inner join fate
            on
                installation.source_file_id = fate.source_file_id
                and installation.source_row = fate.source_row
                and installation.record_id = fate.record_id
        where installation.site_code = $site_code and not fate.is_current
        """,
        {"site_code": site_code},
    )
    # The file's own rows are not in the tally yet.
    con.execute(
        add_to_tally_sql(
            f"(from displaced where source_file_id != {source_file_id})", sign=-1
        )
    )
    con.execute("insert into superseded_installation select * from displaced")
    con.execute(
        """
        delete from installation
        where (source_file_id, source_row) in (
            select (source_file_id, source_row) from displaced
        )
        """
    )
