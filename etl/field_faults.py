"""Keep of every value that could not be read what stood there, and why it could not."""

from dataclasses import replace

import duckdb

from etl.expected import expected_pieces, reason_sql
from etl.parse import piece_fault_sql, piece_sql, source_sql, unmarked_sql
from etl.query import Parameters
from etl.site_map import SiteMap
from etl.staging import StagedFile
from queries.columns import LOGGED_COLUMNS

_LONGEST = 40


def insert_field_faults(
    con: duckdb.DuckDBPyConnection,
    staged: StagedFile,
    site_map: SiteMap,
    source_file_id: int,
) -> None:
    """Fill field_fault from a file's installations, which have their masks already."""
    [(seen_mask,)] = con.execute(
        "select bit_or(field_fault_mask) from installation where source_file_id = ?",
        [source_file_id],
    ).fetchall()
    if not seen_mask:
        return
    con.execute(
        f"""
        create or replace temp table faulty as
        select
            held.source_row, held.field_fault_mask, held.installed_on, staged_row.*
        from installation as held
        inner join {staged.filled_rows_sql(site_map.filled_headers)}
            on held.source_row = {staged.row_sql}
        where held.source_file_id = $source_file_id and held.field_fault_mask != 0
        """,
        {"source_file_id": source_file_id},
    )
    mapped = {found.column.name: found for found in site_map.columns}
    for position, column in enumerate(LOGGED_COLUMNS):
        if not seen_mask >> position & 1:
            continue
        name = column.name
        if name == "installed_at" and "installed_time" in mapped:
            name = "installed_time"
        if name not in mapped:
            continue
        filled = site_map.filled_headers
        found = mapped[name]
        # What was sent: all of a cell of which one value is read.
        cell = (
            staged.filled_cell_sql(found.header, filled)
            if found.header in filled
            else source_sql(replace(found, piece=None), staged)
        )
        parameters = Parameters()
        value = unmarked_sql(found.marks, piece_sql(found.piece, cell))
        reason = reason_sql(name, value, site_map, parameters)
        if found.piece is not None:
            expected = parameters.add(expected_pieces(found.piece))
            is_other = piece_fault_sql(found.piece, cell)
            reason = f"case when {is_other} then {expected} else {reason} end"
        con.execute(
            f"""
            insert into field_fault
            select $source_file_id, source_row, $column_name, {cell}, {reason}
            from faulty
            where (field_fault_mask >> {position}) & 1 = 1
            """,
            {
                "source_file_id": source_file_id,
                "column_name": column.name,
            }
            | parameters.values,
        )


def words_of_faults(con: duckdb.DuckDBPyConnection, source_file_id: int) -> list[str]:
    """Return a remark a column with values that could not be read, with the first."""
    rows = con.execute(
        """
        select
            column_name,
            count(*),
            min(source_row),
            min_by(raw_value, source_row),
            min_by(reason, source_row)
        from field_fault
        where source_file_id = ?
        group by column_name
        order by min(source_row), column_name
        """,
        [source_file_id],
    ).fetchall()
    return [
        f"{name}: {count} value{'s' if count > 1 else ''} could not be read, "
        f"{'the first ' if count > 1 else ''}in row {row}: {raw[:_LONGEST]!r}, {reason}"
        for name, count, row, raw, reason in rows
    ]
