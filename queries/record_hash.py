"""A short hash of each record's number, by which a few are found among millions.

Stored beside the number: to compare ten million texts takes ten times as long. 32 bits
of DuckDB's own hash: two numbers may share one, and only the number itself decides.
DuckDB does not promise the same hash in every version. Opening the ledger hashes anew
where the stored ones are another version's; a reader then goes by the number alone.
"""

import duckdb

SAMPLE_ROWS = 100


def record_hash_sql(record_id: str) -> str:
    """Return the SQL of the hash of a record's number; `record_id` is an expression."""
    return f"(hash({record_id}) & 4294967295)::uinteger"


def has_todays_hashes(con: duckdb.DuckDBPyConnection) -> bool:
    """Say, by a sample, whether the stored hashes are those that this DuckDB gives."""
    [(differ,)] = con.execute(
        f"""
        select count(*)
        from (select record_id, record_hash from installation limit {SAMPLE_ROWS})
        where record_hash != {record_hash_sql("record_id")}
        """
    ).fetchall()
    return bool(differ == 0)


def has_number_sql(con: duckdb.DuckDBPyConnection, parameter: str) -> str:
    """Return the condition that a row of installation has a record number.

    `parameter` is the statement's parameter of that number, as `$record_id`.
    """
    by_number = f"record_id = {parameter}"
    if not has_todays_hashes(con):
        return by_number
    return f"record_hash = {record_hash_sql(f'{parameter}::varchar')} and {by_number}"
