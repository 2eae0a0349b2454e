"""Load one site log into the ledger, in one transaction, and give its receipt."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import duckdb

from etl.cleared import are_corrections, clear_rejected
from etl.codes import join_spellings, site_spelling
from etl.counted_rows import question_of_counts
from etl.field_faults import insert_field_faults, words_of_faults
from etl.no_installation import NO_INSTALLATION_CODES, settled_words
from etl.other_sheets import words_of_sheets
from etl.parse import parsed_rows
from etl.parts_failed import PartsFailed
from etl.questions import question_of_numbers, questions, questions_of_site
from etl.receipt import (
    Receipt,
    insert_receipt,
    next_source_file_id,
    receipt_of_same_file,
    require_not_held_otherwise,
    sha256_of,
)
from etl.rejudge import has_calibrations, rejudge_uses, touched_wrenches_sql
from etl.resolve import settle_arriving, tally_settled
from etl.screen import screen
from etl.site_map import SiteMap
from etl.sites import sites_of, words_joined, words_of_no_site
from etl.staging import StagedFile, stage_file, told_words
from queries.columns import LOGGED_NAMES
from queries.errors import FirmsetError
from queries.judgement import judgement_sql
from queries.record_hash import record_hash_sql


def load_log(
    con: duckdb.DuckDBPyConnection,
    path: Path,
    site_map: SiteMap,
    now: datetime,
    *,
    sent_as: Path | None = None,
    part: str = "",
) -> Iterator[Receipt]:
    """Load a site log; yield its receipt, or that of each site it is of.

    `con` is the open ledger, `now` the load's clock (UTC). `sent_as` is the file that
    the receipt names, where `path` is a part of it; `part` follows its name, where the
    map takes one sheet of several. All of a site's rows are loaded or, on any error,
    none; FirmsetError, once the other sites are loaded, names each site that failed.
    Raises FirmsetError too where the file as a whole cannot be read. A file that was
    loaded before and brings nothing new leaves the ledger as it was.
    """
    # Staged before the transaction: in it, new rows have provisional rowids, and the
    # rowid of a staged row is its place in the file.
    staged = stage_file(con, path, site_map)
    sent = sent_as or path
    # Once: of many sites each has a receipt with it.
    staged = replace(staged, path=sent, part=part, sha256=sha256_of(sent))
    sheet_words = words_of_sheets(sent, site_map)
    failed = PartsFailed(staged.path)
    for of_site, its_map in sites_of(con, staged, site_map):
        try:
            yield _load(con, of_site, its_map, now, sheet_words)
        except FirmsetError as error:
            failed.add(of_site.part, error)
    failed.report()


def _load(
    con: duckdb.DuckDBPyConnection,
    staged: StagedFile,
    site_map: SiteMap,
    now: datetime,
    sheet_words: Sequence[str],
) -> Receipt:
    """Load what staged_row holds of one site, in a transaction."""
    con.execute("begin")
    try:
        receipt = _load_staged(con, staged, site_map, now, sheet_words)
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
    sheet_words: Sequence[str],
) -> Receipt:
    source_file_id = next_source_file_id(con)
    remarks = [f"site map {site_map.chosen_because}"] if site_map.chosen_because else []
    staged, site_map, joined = _with_joined_codes(con, staged, site_map, source_file_id)
    remarks += sheet_words
    remarks += [*staged.as_above_words, *staged.listed_words, *told_words(staged)]
    remarks += staged.struck_words
    remarks += [*words_joined(con, staged, site_map), *joined]
    if site_map.site_code:
        _keep_site(con, site_map)
    screen(con, staged, site_map, now)
    _insert_rows(con, staged, site_map, source_file_id)
    insert_field_faults(con, staged, site_map, source_file_id)
    displaced = settle_arriving(con, site_map.site_code, source_file_id)
    if displaced:
        is_one = displaced == 1
        which = "row of another file counts" if is_one else "rows of other files count"
        remarks.append(
            f"{displaced} {which} no more: the same records and revisions stand here "
            "with other content, which has fewer gaps, or as many and comes first by "
            "its text"
        )
    fates = _count_fates(con, source_file_id)
    if "rejected" in fates:
        _reject_conflicts(con, staged, site_map.filled_headers, source_file_id)
    _insert_rejected(con, source_file_id)
    tally_settled(con, source_file_id, is_leaving=False)
    rejudge_uses(con, touched_wrenches_sql(source_file_id))
    if displaced or "rejected" in fates:
        remarks += question_of_numbers(con, site_map, source_file_id)
    remarks += questions(con, site_map, source_file_id)
    remarks += words_of_no_site(con, staged)
    remarks += words_of_faults(con, source_file_id)
    receipt = _receipt(con, staged, site_map, now, source_file_id, fates, remarks)
    require_not_held_otherwise(con, receipt, staged.part, site_map.sheet)
    is_whole = are_corrections(staged) and not staged.part
    earlier = receipt_of_same_file(con, receipt, staged.part, is_whole=is_whole)
    if earlier is not None and receipt.loaded == receipt.revised == 0:
        return replace(receipt, source_file_id=earlier, is_new=False)
    if not are_corrections(staged):
        asked = [
            *questions_of_site(con, receipt, staged, site_map),
            *question_of_counts(con, staged, site_map),
        ]
        receipt = replace(receipt, remarks=remarks + asked)
    insert_receipt(con, receipt)
    _keep_site_map(con, site_map)
    clear_rejected(con, staged, site_map, source_file_id)
    return receipt


def _with_joined_codes(
    con: duckdb.DuckDBPyConnection,
    staged: StagedFile,
    site_map: SiteMap,
    source_file_id: int,
) -> tuple[StagedFile, SiteMap, list[str]]:
    if not site_map.site_code:
        return staged, site_map, []
    site_code, site_remarks = site_spelling(con, site_map.site_code, source_file_id)
    site_map, as_stored, remarks = join_spellings(con, staged, site_map, source_file_id)
    return (
        replace(staged, codes_as_stored=as_stored),
        replace(site_map, site_code=site_code),
        site_remarks + remarks,
    )


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
    judged = judgement_sql(
        parsed, with_calibrations=logs_wrench and has_calibrations(con)
    )
    con.execute(
        f"""
        insert into installation by name
        select *, {record_hash_sql("record_id")} as record_hash from ({judged})
        where source_row not in (select source_row from rejected)
        """,
        {
            **rows.parameters,
            "site_code": site_map.site_code,
            "source_file_id": source_file_id,
        },
    )


def _count_fates(con: duckdb.DuckDBPyConnection, source_file_id: int) -> dict[str, int]:
    """Count what became of a file's rows whose records are named more than once."""
    return dict(
        con.execute(
            "select fate, count(*) from fate where source_file_id = ? group by fate",
            [source_file_id],
        ).fetchall()
    )


def _reject_conflicts(
    con: duckdb.DuckDBPyConnection,
    staged: StagedFile,
    filled: Collection[str],
    source_file_id: int,
) -> None:
    con.execute(
        f"""
        insert into rejected
        select
            source_row,
            'conflict',
            'record ' || record_id || ' revision ' || revision
            || ' is held with other content, which has fewer gaps, or as many and '
            || 'comes first by its text; expected a higher revision',
            {staged.raw_text_sql(filled)},
            record_id, revision
        from fate
        inner join {staged.filled_rows_sql(filled)} on source_row = {staged.row_sql}
        where fate = 'rejected' and source_file_id = $source_file_id
        """,
        staged.raw_text_parameters | {"source_file_id": source_file_id},
    )


def _insert_rejected(con: duckdb.DuckDBPyConnection, source_file_id: int) -> None:
    con.execute(
        """
        insert into rejected_row
        select
            $source_file_id, source_row, reason_code, reason, raw_text, record_id,
            case when list_contains($settled, reason_code) then $source_file_id end,
            revision
        from rejected
        order by source_row
        """,
        {"source_file_id": source_file_id, "settled": NO_INSTALLATION_CODES},
    )


def _receipt(
    con: duckdb.DuckDBPyConnection,
    staged: StagedFile,
    site_map: SiteMap,
    now: datetime,
    source_file_id: int,
    fates: dict[str, int],
    remarks: list[str],
) -> Receipt:
    rows_read, rejected, settled, faults = con.execute(
        """
        select
            (select count(*) from identity),
            (select count(*) from rejected),
            (select count(*) from rejected where list_contains($settled, reason_code)),
            (select count(*) from field_fault where source_file_id = $source_file_id)
        """,
        {"source_file_id": source_file_id, "settled": NO_INSTALLATION_CODES},
    ).fetchall()[0]
    if settled:
        remarks.append(settled_words(settled, rejected))
    revised, duplicate = fates.get("revised", 0), fates.get("duplicate", 0)
    return Receipt(
        source_file_id=source_file_id,
        content="installations",
        site_code=site_map.site_code or None,
        file_name=f"{staged.path.name}{staged.part}",
        sha256=staged.sha256,
        byte_count=staged.path.stat().st_size,
        site_map_sha256=site_map.sha256,
        loaded_at=now,
        rows_read=rows_read,
        loaded=rows_kept(con, source_file_id) - revised,
        revised=revised,
        duplicate=duplicate,
        rejected=rejected,
        field_faults=faults,
        remarks=remarks,
        headers=list(staged.headers),
        settled=settled,
    )


def rows_kept(con: duckdb.DuckDBPyConnection, source_file_id: int) -> int:
    """Return how many rows of a file are held: counted, not inferred."""
    counts = con.execute(
        """
        select
            (select count(*) from installation
            where source_file_id = $source_file_id)
            + (select count(*) from superseded_installation
            where source_file_id = $source_file_id)
        """,
        {"source_file_id": source_file_id},
    ).fetchall()
    return int(counts[0][0])


def _keep_site_map(con: duckdb.DuckDBPyConnection, site_map: SiteMap) -> None:
    con.execute(
        """
        insert into site_map
        select $sha256, $name, $text
        where $sha256 not in (select sha256 from site_map)
        """,
        {
            "sha256": site_map.sha256,
            "name": site_map.path.name,
            "text": site_map.path.read_text("utf-8"),
        },
    )
