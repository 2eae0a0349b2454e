"""Load one site log into the ledger, in one transaction, and give its receipt."""

from dataclasses import asdict, dataclass
from datetime import datetime
from hashlib import file_digest
from pathlib import Path

import duckdb

from etl.parse import expectation, parsed_rows
from etl.rejudge import has_calibrations, rejudge_uses
from etl.resolve import resolve
from etl.screen import screen
from etl.site_map import SiteMap
from etl.staging import StagedFile, stage_file
from queries.columns import LOGGED_COLUMNS, LOGGED_NAMES
from queries.judgement import verdict_masks_sql
from queries.tally import add_to_tally_sql


@dataclass(frozen=True)
class Receipt:
    """What became of one file: rows_read = loaded + revised + duplicate + rejected.

    `is_new` is False where the file changed nothing and an earlier receipt of the
    same file stands. `source_file_id` is then that one's.
    """

    source_file_id: int
    content: str
    site_code: str | None
    file_name: str
    sha256: str
    byte_count: int
    site_map_sha256: str | None
    loaded_at: datetime
    rows_read: int
    loaded: int
    revised: int
    duplicate: int
    rejected: int
    field_faults: int
    remarks: list[str]
    is_new: bool = True


def load_log(
    con: duckdb.DuckDBPyConnection, path: Path, site_map: SiteMap, now: datetime
) -> Receipt:
    """Load a site log; all of it or, on any error, nothing.

    `con` is the open ledger, `now` the load's clock (UTC). Raises FirmsetError where
    the file as a whole cannot be read. A file that was loaded before and brings
    nothing new leaves the ledger as it was.
    """
    # Staged before the transaction: in it, new rows have provisional rowids, and the
    # rowid of a staged row is its place in the file.
    staged = stage_file(con, path, site_map)
    con.execute("begin")
    try:
        receipt = _load_staged(con, staged, site_map, now)
        con.execute("commit" if receipt.is_new else "rollback")
    except BaseException:
        con.execute("rollback")
        raise
    return receipt


def _load_staged(
    con: duckdb.DuckDBPyConnection,
    staged: StagedFile,
    site_map: SiteMap,
    now: datetime,
) -> Receipt:
    _keep_site(con, site_map)
    screen(con, staged, site_map)
    source_file_id = next_source_file_id(con)
    _insert_rows(con, staged, site_map, source_file_id)
    resolve(con, staged, site_map.site_code, source_file_id)
    _insert_rejected(con, source_file_id)
    _insert_field_faults(con, staged, site_map, source_file_id)
    con.execute(
        add_to_tally_sql(
            f"(from installation where source_file_id = {source_file_id})", sign=1
        )
    )
    rejudge_uses(con, _touched_wrenches(source_file_id))
    receipt = _receipt(con, staged.path, site_map, now, source_file_id)
    earlier = receipt_of_same_file(con, receipt)
    if earlier is not None and receipt.loaded == receipt.revised == 0:
        return Receipt(**asdict(receipt) | {"source_file_id": earlier, "is_new": False})
    insert_receipt(con, receipt)
    return receipt


def _keep_site(con: duckdb.DuckDBPyConnection, site_map: SiteMap) -> None:
    con.execute(
        """
        merge into site
        using (select ? as site_code, ? as site_name, ? as time_zone) as mapped
        on site.site_code = mapped.site_code
        when matched then update set
            site_name = mapped.site_name, time_zone = mapped.time_zone
        when not matched then insert values (site_code, site_name, time_zone)
        """,
        [site_map.site_code, site_map.site_name, site_map.time_zone],
    )


def next_source_file_id(con: duckdb.DuckDBPyConnection) -> int:
    """Return the number the next receipt gets."""
    row = con.execute(
        "select coalesce(max(source_file_id), 0) + 1 from source_file"
    ).fetchall()
    return int(row[0][0])


def _insert_rows(
    con: duckdb.DuckDBPyConnection,
    staged: StagedFile,
    site_map: SiteMap,
    source_file_id: int,
) -> None:
    """Judge and insert every row that was not rejected."""
    rows = parsed_rows(staged, site_map)
    names = ", ".join(name for name in LOGGED_NAMES if name != "revision")
    parsed = f"""(
        select
            $site_code as site_code,
            $source_file_id::integer as source_file_id,
            coalesce(revision, 0) as revision,
            source_row, field_fault_mask, {names}
        from ({rows.sql})
    )"""
    logs_wrench = any(found.column.name == "wrench_code" for found in site_map.columns)
    judged = verdict_masks_sql(
        parsed, with_calibrations=logs_wrench and has_calibrations(con)
    )
    con.execute(
        f"""
        insert into installation by name
        select * from ({judged})
        where source_row not in (select source_row from rejected)
        """,
        {
            **rows.parameters,
            "site_code": site_map.site_code,
            "source_file_id": source_file_id,
        },
    )


def _touched_wrenches(source_file_id: int) -> str:
    """Return the wrenches of the file's rows and of those that they displaced."""
    return f"""(
        select wrench_code from installation where source_file_id = {source_file_id}
        union
        select wrench_code from superseded_installation
        where (source_file_id, source_row) in (
            select (source_file_id, source_row) from fate where not is_current
        )
    )"""


def _insert_rejected(con: duckdb.DuckDBPyConnection, source_file_id: int) -> None:
    con.execute(
        """
        insert into rejected_row
        select $source_file_id, source_row, reason_code, reason, raw_text
        from rejected
        order by source_row
        """,
        {"source_file_id": source_file_id},
    )


def _insert_field_faults(
    con: duckdb.DuckDBPyConnection,
    staged: StagedFile,
    site_map: SiteMap,
    source_file_id: int,
) -> None:
    """Keep, for every value that could not be read, what stood there."""
    con.execute(
        f"""
        create or replace temp table faulty as
        select held.source_row, held.field_fault_mask, staged_row.*
        from (
            select source_file_id, source_row, field_fault_mask from installation
            union all
            select source_file_id, source_row, field_fault_mask
            from superseded_installation
        ) as held
        inner join staged_row
            on held.source_row = staged_row.rowid + {staged.first_row}
        where held.source_file_id = $source_file_id and held.field_fault_mask != 0
        """,
        {"source_file_id": source_file_id},
    )
    seen = con.execute("select coalesce(bit_or(field_fault_mask), 0) from faulty")
    [(seen_mask,)] = seen.fetchall()
    headers = {found.column.name: found.header for found in site_map.columns}
    for position, column in enumerate(LOGGED_COLUMNS):
        if not seen_mask >> position & 1:
            continue
        name = column.name
        if name == "installed_at" and "installed_time" in headers:
            name = "installed_time"
        if name not in headers:
            continue
        con.execute(
            f"""
            insert into field_fault
            select $source_file_id, source_row, $column_name,
                {staged.cell_sql(headers[name])}, $reason
            from faulty
            where (field_fault_mask >> {position}) & 1 = 1
            """,
            {
                "source_file_id": source_file_id,
                "column_name": column.name,
                "reason": expectation(column.name, site_map),
            },
        )


def _receipt(
    con: duckdb.DuckDBPyConnection,
    path: Path,
    site_map: SiteMap,
    now: datetime,
    source_file_id: int,
) -> Receipt:
    rows_read, rejected, faults = con.execute(
        """
        select
            (select count(*) from identity),
            (select count(*) from rejected),
            (select count(*) from field_fault where source_file_id = $source_file_id)
        """,
        {"source_file_id": source_file_id},
    ).fetchall()[0]
    fates = dict(
        con.execute(
            "select fate, count(*) from fate where is_new group by fate"
        ).fetchall()
    )
    kept = con.execute(
        """
        select
            (select count(*) from installation
            where source_file_id = $source_file_id)
            + (select count(*) from superseded_installation
            where source_file_id = $source_file_id)
        """,
        {"source_file_id": source_file_id},
    ).fetchall()[0][0]
    revised = fates.get("revised", 0)
    return Receipt(
        source_file_id=source_file_id,
        content="installations",
        site_code=site_map.site_code,
        file_name=path.name,
        sha256=sha256_of(path),
        byte_count=path.stat().st_size,
        site_map_sha256=site_map.sha256,
        loaded_at=now,
        rows_read=rows_read,
        loaded=kept - revised,
        revised=revised,
        duplicate=fates.get("duplicate", 0),
        rejected=rejected,
        field_faults=faults,
        remarks=[],
    )


def sha256_of(path: Path) -> str:
    """Return a file's SHA-256 as hexadecimal digits."""
    with path.open("rb") as file:
        return file_digest(file, "sha256").hexdigest()


def receipt_of_same_file(
    con: duckdb.DuckDBPyConnection, receipt: Receipt
) -> int | None:
    """Return the number of an earlier receipt of the same bytes and map, or None."""
    rows = con.execute(
        """
        select max(source_file_id) from source_file
        where sha256 = ? and site_map_sha256 is not distinct from ?
        """,
        [receipt.sha256, receipt.site_map_sha256],
    ).fetchall()
    return rows[0][0] if rows[0][0] is None else int(rows[0][0])


def insert_receipt(con: duckdb.DuckDBPyConnection, receipt: Receipt) -> None:
    """Store a receipt; the table refuses one that does not add up."""
    values = asdict(receipt)
    del values["is_new"]
    columns = ", ".join(values)
    places = ", ".join(f"${name}" for name in values)
    con.execute(f"insert into source_file ({columns}) values ({places})", values)
