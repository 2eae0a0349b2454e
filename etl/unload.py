"""Take a file's load back."""

from collections.abc import Iterable
from datetime import UTC, datetime

import duckdb

from etl.answered import keep_answers
from etl.change import change_store
from etl.claims import WHOLE_TABLES
from etl.codes import forget_spellings
from etl.readings import prepare_readings
from etl.receipt import note_change
from etl.rejudge import rejudge_uses, touched_wrenches_sql
from etl.resolve import settle_leaving, tally_settled
from etl.sheets.undo import unload_sheet
from queries.errors import FirmsetError
from queries.store import Store


def unload(
    store: Store,
    *source_file_ids: int,
    all_parts: bool = False,
    now: datetime | None = None,
    wait_s: float = 0,
) -> str:
    """Take back loads by their receipts, and publish once; return what was done.

    A line a receipt. `all_parts`: also the other parts of the files, a sheet, an anchor
    or a site each, that were loaded with them. `now` is the clock (UTC). Another
    load's end is awaited for `wait_s` seconds. FirmsetError where there is no store, no
    such receipt, or it is taken back already; those before it are taken back then,
    which the error says.
    """
    if not store.ledger_path.exists():
        raise FirmsetError(f"{store.folder}: no store is here, so nothing to take back")
    clock = now or datetime.now(UTC)

    def take_back(
        con: duckdb.DuckDBPyConnection,
    ) -> tuple[list[str], FirmsetError | None]:
        done: list[str] = []
        # Contents are ranked by the keys of codes.
        prepare_readings(con)
        try:
            for each in _with_parts(con, source_file_ids, all_parts=all_parts):
                done.append(unload_file(con, each, clock))
        except FirmsetError as error:
            if not done:
                raise
            return done, error
        return done, None

    (done, failure), edition_id = change_store(
        store, take_back, now=clock, reason="unload", wait_s=wait_s
    )
    done[-1] += f"; edition {edition_id} published"
    if failure is not None:
        raise FirmsetError("; ".join([*done, f"then {failure}"])) from failure
    return "\n".join(done)


def _with_parts(
    con: duckdb.DuckDBPyConnection, source_file_ids: Iterable[int], *, all_parts: bool
) -> list[int]:
    """Return the receipts, each once; and those of the parts loaded with each."""
    given = list(dict.fromkeys(source_file_ids))
    if not all_parts:
        return given
    parts = con.execute(
        """
        select part.source_file_id
        from source_file as part
        inner join source_file as given
            on part.sha256 = given.sha256 and part.loaded_at = given.loaded_at
        where
            list_contains($given, given.source_file_id)
            and part.unloaded_at is null
        order by 1
        """,
        {"given": given},
    ).fetchall()
    return list(dict.fromkeys([*given, *(part for (part,) in parts)]))


def unload_file(
    con: duckdb.DuckDBPyConnection, source_file_id: int, now: datetime
) -> str:
    """Take a file's rows out of the ledger, in one transaction; return what was done.

    A log's or a sheet's. What they superseded, said again or were in conflict with
    takes their places; the tally and the other files' receipts follow. The receipt
    stays, marked with the time (`now`, UTC). FirmsetError where there is no such
    receipt, it is taken back already, or installations are judged by it.
    """
    con.execute("begin")
    try:
        name, content, site_code = _receipt_to_unload(con, source_file_id)
        if content == "installations":
            taken = _take_rows_out(con, site_code, source_file_id)
        else:
            taken = unload_sheet(con, source_file_id)
        con.execute(
            "update source_file set unloaded_at = ? where source_file_id = ?",
            [now, source_file_id],
        )
        keep_answers(con, site_code or None, source_file_id)
        # Before its code is renamed, where only its files spelled it so.
        _drop_site_without_files(con, site_code)
        forget_spellings(con, source_file_id)
        note_change(con, now, f"unload {source_file_id}")
        con.execute("commit")
    except BaseException:
        con.execute("rollback")
        raise
    rows = "1 row" if taken == 1 else f"{taken} rows"
    return f"receipt {source_file_id} ({name}) taken back: {rows}"


def _receipt_to_unload(
    con: duckdb.DuckDBPyConnection, source_file_id: int
) -> tuple[str, str, str]:
    found = con.execute(
        """
        select file_name, content, coalesce(site_code, ''), unloaded_at
        from source_file
        where source_file_id = ?
        """,
        [source_file_id],
    ).fetchall()
    if not found:
        raise FirmsetError(
            f"receipt {source_file_id}: there is none with this number; "
            "firmset receipts lists them"
        )
    name, content, site_code, unloaded_at = found[0]
    if unloaded_at is not None:
        raise FirmsetError(
            f"receipt {source_file_id} ({name}) was taken back at "
            f"{unloaded_at:%Y-%m-%d %H:%M} UTC already"
        )
    return str(name), str(content), str(site_code)


def _take_rows_out(
    con: duckdb.DuckDBPyConnection, site_code: str, source_file_id: int
) -> int:
    settle_leaving(con, site_code, source_file_id)
    tally_settled(con, source_file_id, is_leaving=True)
    con.execute(
        "create or replace temp table touched_wrench as "
        f"from {touched_wrenches_sql(source_file_id)} where wrench_code is not null"
    )
    taken = 0
    for table in (*WHOLE_TABLES, "repeated_row"):
        [(count,)] = con.execute(
            f"select count(*) from {table} where source_file_id = ?", [source_file_id]
        ).fetchall()
        con.execute(f"delete from {table} where source_file_id = ?", [source_file_id])
        taken += count
    con.execute("delete from field_fault where source_file_id = ?", [source_file_id])
    rejudge_uses(con, "touched_wrench")
    return taken


def _drop_site_without_files(con: duckdb.DuckDBPyConnection, site_code: str) -> None:
    con.execute(
        """
        delete from site
        where site_code = $site_code and site_code not in (
            select site_code from source_file
            where unloaded_at is null and site_code is not null
        )
        """,
        {"site_code": site_code},
    )
