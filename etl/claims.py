"""Gather what all files say of the records that are named more than once."""

import duckdb

from queries.columns import LOGGED_COLUMNS, LOGGED_NAMES
from queries.record_hash import record_hash_sql

# Where a claim that counts, or could, stands with all of its columns.
WHOLE_TABLES = (
    "installation",
    "superseded_installation",
    "conflicting_installation",
)
HELD_TABLES = WHOLE_TABLES[:2]

# What two rows must share to be the same: all values, and what could not be read.
# Told by a hash of 64 bits: two contents of one revision are taken for the same once
# in 10^19.
_CONTENT = "hash(row(" + ", ".join((*LOGGED_NAMES, "field_fault_mask")) + "))"


def contest_arriving(
    con: duckdb.DuckDBPyConnection, site_code: str, source_file_id: int
) -> None:
    """Fill contested_record: records a file repeats, or that were held before it.

    Also where their rows are in installation: contested_place, those held before, and
    arriving_place, the file's own. The look-up of the file's records is the one pass
    over all rows of the ledger that a load needs: by their hashes, then those found by
    site and number.
    """
    con.execute(
        f"""
        create or replace temp table same_hash as
        select rowid as place_id from installation
        where
            source_file_id != $source_file_id
            and record_hash in (
                select {record_hash_sql("record_id")} from identity
                where reason_code is null
            )
        """,
        {"source_file_id": source_file_id},
    )
    con.execute(
        """
        create or replace temp table contested_place as
        select rowid as place_id, record_id from installation
        where
            rowid in (select place_id from same_hash)
            and site_code = $site_code
            and record_id in (select record_id from identity where reason_code is null)
        """,
        {"site_code": site_code},
    )
    con.execute(
        """
        create or replace temp table contested_record as
        select record_id from identity
        where reason_code is null
        group by record_id
        having count(*) > 1
        union
        select record_id from contested_place
        """
    )
    con.execute(
        """
        create or replace temp table arriving_place as
        select rowid as place_id from installation
        where
            source_file_id = $source_file_id
            and record_id in (select record_id from contested_record)
        """,
        {"source_file_id": source_file_id},
    )


def contest_leaving(
    con: duckdb.DuckDBPyConnection, site_code: str, source_file_id: int
) -> None:
    """Fill contested_record: records of a file of which other files speak too.

    Also contested_place, where their rows are in installation; none is arriving.
    """
    both = " union all ".join(
        f"""
        select record_id, source_file_id from {table} where site_code = $site_code
        """
        for table in (*WHOLE_TABLES, "repeated_row")
    )
    con.execute(
        f"""
        create or replace temp table contested_record as
        select record_id from ({both})
        group by record_id
        having
            count(*) filter (source_file_id = $source_file_id) > 0
            and count(*) filter (source_file_id != $source_file_id) > 0
        """,
        {"site_code": site_code, "source_file_id": source_file_id},
    )
    con.execute(
        """
        create or replace temp table contested_place as
        select rowid as place_id, record_id from installation
        where
            site_code = $site_code
            and record_id in (select record_id from contested_record)
        """,
        {"site_code": site_code},
    )
    con.execute(
        "create or replace temp table arriving_place as "
        "select place_id from contested_place where false"
    )


def gather_claims(con: duckdb.DuckDBPyConnection, site_code: str) -> None:
    """Fill `whole_claim`, `claim` and `content_rank` for the contested records.

    whole_claim has the rows with all columns and the rowid where each stands; what
    follows reads them there, not among the rows of all records.
    """
    # By rowid: DuckDB then fetches the few rows, where a join by record number would
    # read all columns of all rows. Apart, because the rowids of rows not committed lie
    # far beyond the others: it passes over what is not between the least and greatest.
    by_record = (
        "site_code = $site_code and record_id in (select record_id from "
        "contested_record)"
    )
    found = [
        ("installation", "rowid in (select place_id from contested_place)"),
        ("installation", "rowid in (select place_id from arriving_place)"),
        ("superseded_installation", by_record),
        ("conflicting_installation", by_record),
    ]
    places = " union all ".join(
        f"""
        select *, rowid as place_id, {_CONTENT} as content, '{table}' as place
        from {table}
        where {condition}
        """
        for table, condition in found
    )
    con.execute(
        f"create or replace temp table whole_claim as {places}",
        {"site_code": site_code},
    )
    con.execute(
        """
        create or replace temp table claim as
        select
            record_id, revision, source_file_id, source_row, content, place_id, place
        from whole_claim
        """
    )
    _gather_repeated(con, site_code)
    _rank_contents(con)


def _gather_repeated(con: duckdb.DuckDBPyConnection, site_code: str) -> None:
    """Add rows that said again what is held: theirs is the held row's content."""
    con.execute(
        """
        insert into claim
        select
            again.record_id, again.revision, again.source_file_id, again.source_row,
            held.content, again.rowid, 'repeated_row'
        from repeated_row as again
        inner join (
            select record_id, revision, content from claim
            where place = any($held)
            -- The file's own rows stand in installation until they are settled.
            qualify row_number() over (
                partition by record_id, revision order by source_file_id, source_row
            ) = 1
        ) as held
            on again.record_id = held.record_id and again.revision = held.revision
        where again.site_code = $site_code
        """,
        {"site_code": site_code, "held": list(HELD_TABLES)},
    )


def _rank_contents(con: duckdb.DuckDBPyConnection) -> None:
    """Rank the contents of one revision where there are several.

    The one with fewer unreadable values comes first, then the one with more values,
    then the first by its text: arbitrary, but the same in every order of loading. A
    code's text is its key: which spelling of it is kept may change with the next file.
    """
    [(rivals,)] = con.execute(
        """
        create or replace temp table rival as
        select record_id, revision from claim
        group by record_id, revision
        having count(distinct content) > 1
        """
    ).fetchall()
    if not rivals:
        # The empty table, without planning what fills it.
        con.execute(
            """
            create or replace temp table content_rank as
            select record_id, revision, content, 0::bigint as content_rank
            from claim
            where false
            """
        )
        return
    recorded = " + ".join(f"({name} is not null)::integer" for name in LOGGED_NAMES)
    values = ", ".join(
        f"code_key({column.name})" if column.kind == "code" else column.name
        for column in LOGGED_COLUMNS
    )
    con.execute(
        f"""
        create or replace temp table content_rank as
        select
            record_id, revision, content,
            row_number() over (
                partition by record_id, revision
                order by any_value(fault_count), any_value(recorded) desc,
                    any_value(content_text)
            ) as content_rank
        from (
            select
                record_id, revision, content,
                bit_count(field_fault_mask) as fault_count,
                {recorded} as recorded,
                row({values})::varchar as content_text
            from whole_claim
            semi join rival using (record_id, revision)
        )
        group by record_id, revision, content
        """
    )
