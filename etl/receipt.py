"""Receipts: what became of each file, and the change that a load was."""

import re
from collections.abc import Iterable
from dataclasses import asdict, dataclass, field, replace
from datetime import datetime
from hashlib import file_digest
from pathlib import Path

import duckdb

from etl.claims import HELD_TABLES, WHOLE_TABLES
from queries.errors import FirmsetError

# How a file's name ends that is one anchor of its rows (etl/file_parts.py), and what is
# behind that of a log of several sites (etl/sites.py).
ANCHOR_PART = r" \[anchor [^\]]*\]$"
SITE_PART = r" \[(site [^\]]*|no site)\]$"
# Every row read ends as exactly one of these.
FATES = ("loaded", "revised", "duplicate", "rejected")


@dataclass(frozen=True)
class Receipt:
    """What became of one file: rows_read = loaded + revised + duplicate + rejected.

    `headers` are the file's column names. `is_new` is False where the file changed
    nothing and an earlier receipt of the same file stands; `source_file_id` is then
    that one's. `settled` of the rejected rows are no installations: nothing in them is
    to be corrected.
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
    headers: list[str] = field(default_factory=list)
    is_new: bool = True
    settled: int = 0


def as_they_stand(
    con: duckdb.DuckDBPyConnection, receipts: Iterable[Receipt]
) -> list[Receipt]:
    """Return new receipts with what their rows are now, after the files behind them.

    A file of the same load may bring a record with the content that counts.
    """
    held = {
        source_file_id: dict(zip(FATES, fates, strict=True))
        for source_file_id, *fates in con.execute(
            f"select source_file_id, {', '.join(FATES)} from source_file"
        ).fetchall()
    }
    return [
        replace(receipt, **held[receipt.source_file_id]) if receipt.is_new else receipt
        for receipt in receipts
    ]


def sha256_of(path: Path) -> str:
    """Return a file's SHA-256 as hexadecimal digits."""
    with path.open("rb") as file:
        return file_digest(file, "sha256").hexdigest()


def next_source_file_id(con: duckdb.DuckDBPyConnection) -> int:
    """Return the number the next receipt gets."""
    row = con.execute(
        "select coalesce(max(source_file_id), 0) + 1 from source_file"
    ).fetchall()
    return int(row[0][0])


def receipt_of_same_file(
    con: duckdb.DuckDBPyConnection,
    receipt: Receipt,
    part: str = "",
    *,
    is_whole: bool = False,
) -> int | None:
    """Return the number of an earlier receipt of the same bytes and map, or None.

    `part` ends the file's name where it is of one sheet of several; without one it is
    any part of the file, or, where it `is_whole`, none of them. A file that was
    taken back does not count: it may be loaded again.
    """
    rows = con.execute(
        """
        select max(source_file_id) from source_file
        where
            sha256 = ? and site_map_sha256 is not distinct from ?
            and unloaded_at is null and ends_with(file_name, ?)
            and (not ? or not ends_with(file_name, ']'))
        """,
        [receipt.sha256, receipt.site_map_sha256, part, is_whole],
    ).fetchall()
    return rows[0][0] if rows[0][0] is None else int(rows[0][0])


def require_not_held_otherwise(
    con: duckdb.DuckDBPyConnection,
    receipt: Receipt,
    part: str = "",
    sheet: str | None = None,
) -> None:
    """Raise FirmsetError where the same bytes are held with other record numbers.

    Or, of a log of several sites, where rows of this site are held for another. They
    would be counted twice: another site map makes other numbers of the same rows. Or
    where it reads other values, as in another unit, and some old ones would stay.
    Called while the file's rows are in `identity`. `part` as in receipt_of_same_file;
    one anchor of a row is also held where the row is, whole. `sheet`: the only one that
    is read, by its name; others of the workbook may be held beside it.
    """
    earlier = con.execute(
        """
        select source_file_id
        from (
            select
                source_file_id, regexp_replace(file_name, $site, '') as file_name,
                regexp_replace($part, $site, '') as part
            from source_file
            where sha256 = $sha256 and unloaded_at is null
        )
        where
            (
                ends_with(file_name, part)
                or (
                    ends_with(file_name, regexp_replace(part, $anchor, ''))
                    and not regexp_matches(file_name, $anchor)
                )
            )
            and (
                $sheet is null
                or not ends_with(regexp_replace(file_name, $anchor, ''), ']')
                or ends_with(regexp_replace(file_name, $anchor, ''), $sheet)
            )
        """,
        {
            "sha256": receipt.sha256,
            "part": part,
            "anchor": ANCHOR_PART,
            "site": SITE_PART,
            "sheet": f" [{sheet}]" if sheet else None,
        },
    ).fetchall()
    if not earlier:
        return
    held = " union all ".join(
        f"select source_file_id, source_row, site_code, record_id from {table} "
        "where list_contains($earlier, source_file_id)"
        for table in (*WHOLE_TABLES, "repeated_row")
    )
    found = con.execute(
        f"""
        with held as ({held})

        select held.source_file_id, held.site_code, held.record_id, again.record_id
        from held
        inner join identity as again on held.source_row = again.source_row
        where
            again.reason_code is null
            and if(
                held.site_code = $site_code,
                held.record_id != again.record_id,
                $is_split
            )
        order by held.source_file_id, held.source_row
        limit 1
        """,
        {
            "earlier": [source_file_id for (source_file_id,) in earlier],
            "site_code": receipt.site_code,
            "is_split": re.search(SITE_PART, part) is not None,
        },
    ).fetchall()
    for source_file_id, site_code, was, now in found:
        how = f"with other record numbers ({was}, now {now})"
        if site_code != receipt.site_code:
            how = f"for site {site_code}, record {was} among them"
        raise FirmsetError(
            f"{receipt.file_name}: is held as receipt {source_file_id} {how}; take "
            "that back first, or its anchors would be counted twice: "
            f"firmset unload {source_file_id}"
        )
    _require_no_mixture(con, receipt, [each for (each,) in earlier])


def _require_no_mixture(
    con: duckdb.DuckDBPyConnection, receipt: Receipt, earlier: list[int]
) -> None:
    """Raise where rows of these bytes stay as receipts `earlier` read them.

    Called once the file's rows are settled: those that lost are in conflict.
    """
    held = " union all ".join(
        f"select source_file_id, source_row, site_code, record_id from {table} "
        "where list_contains($earlier, source_file_id)"
        for table in HELD_TABLES
    )
    found = con.execute(
        f"""
        with held as ({held})

        select held.source_file_id, held.record_id
        from conflicting_installation as lost
        inner join held using (source_row, site_code, record_id)
        where lost.source_file_id = $source_file_id
        order by held.source_file_id, lost.source_row
        limit 1
        """,
        {"earlier": earlier, "source_file_id": receipt.source_file_id},
    ).fetchall()
    for source_file_id, record_id in found:
        raise FirmsetError(
            f"{receipt.file_name}: is held as receipt {source_file_id}, read by "
            f"another site map with other values (record {record_id} among them); take "
            f"that back first, then load it again: firmset unload {source_file_id}"
        )


def insert_receipt(con: duckdb.DuckDBPyConnection, receipt: Receipt) -> None:
    """Store a receipt; the table refuses one that does not add up."""
    values = asdict(receipt)
    del values["is_new"], values["settled"]
    columns = ", ".join(values)
    places = ", ".join(f"${name}" for name in values)
    con.execute(f"insert into source_file ({columns}) values ({places})", values)
    note_change(con, receipt.loaded_at, f"load {receipt.source_file_id}")


def note_change(con: duckdb.DuckDBPyConnection, now: datetime, what: str) -> None:
    """Number this transaction's change, so that an edition without it is behind."""
    con.execute(
        """
        insert into ledger_change
        select coalesce(max(change_id), 0) + 1, ?, ? from ledger_change
        """,
        [now, what],
    )
