"""What must hold of every store at any time, and its contents as a few numbers."""

import duckdb

from queries.store import Store
from queries.tally import (
    KEYS,
    MONTH_KEYS,
    by_month_sql,
    count_columns,
    counted_sql,
)

TABLES = (
    "site",
    "source_file",
    "rejected_row",
    "field_fault",
    "setting_data",
    "installation",
    "superseded_installation",
)

# Per receipt: the rows that it counts, and those that are there.
RECEIPTS_SQL = """
select
    source_file_id,
    rows_read - loaded - revised - duplicate - rejected as missing_count,
    loaded + revised - (
        select count(*) from (
            select source_file_id from installation
            union all
            select source_file_id from superseded_installation
        ) as stored
        where stored.source_file_id = source_file.source_file_id
    ) as loaded_excess,
    rejected - (
        select count(*) from rejected_row
        where rejected_row.source_file_id = source_file.source_file_id
    ) as rejected_excess
from source_file
where content = 'installations'
"""


def assert_whole(con: duckdb.DuckDBPyConnection) -> None:
    """Check a ledger or an edition: receipts, identities, and the tally."""
    for receipt, *differences in con.execute(RECEIPTS_SQL).fetchall():
        assert differences == [0, 0, 0], f"receipt {receipt}"
    twice = con.execute(
        """
        select site_code, record_id from installation
        group by all having count(*) > 1
        """
    ).fetchall()
    assert twice == []
    by_month = by_month_sql(f"({counted_sql('installation')})")
    for table, keys, counted in (
        ("tally", KEYS, counted_sql("installation")),
        ("tally_month", MONTH_KEYS, by_month),
    ):
        columns = ", ".join((*keys, *count_columns()))
        held = f"select {columns} from {table} where installations != 0"
        rebuilt = f"select {columns} from ({counted})"
        for one, other in ((held, rebuilt), (rebuilt, held)):
            difference = con.execute(f"{one} except all {other}").fetchall()
            assert difference == [], table


def contents(con: duckdb.DuckDBPyConnection) -> dict[str, tuple[int, int]]:
    """Return rows and a hash of the rows of each table; load times left out."""
    found = {}
    for table in TABLES:
        columns = "* exclude (loaded_at)" if table == "source_file" else "*"
        [row] = con.execute(
            f"select count(*), coalesce(bit_xor(hash(entry)), 0) "
            f"from (select {columns} from {table}) as entry"
        ).fetchall()
        found[table] = row
    return found


def published(store: Store) -> dict[str, tuple[int, int]]:
    """Return the contents of the published edition, which must be whole."""
    with Store(store.folder).reader() as con:
        assert_whole(con)
        return contents(con)
