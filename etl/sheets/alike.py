"""Setting codes that a log cannot tell apart, as they differ in spelling alone."""

import duckdb

from etl.spelling import code_key


def codes_alike(con: duckdb.DuckDBPyConnection) -> list[str]:
    """Return a remark for each code that setting data have in several spellings.

    Case, separators and leading zeros tell no two codes of a log apart.
    """
    by_key: dict[str, list[str]] = {}
    rows = con.execute("select setting_code from setting_data order by 1").fetchall()
    for (code,) in rows:
        by_key.setdefault(code_key(code), []).append(code)
    return [
        f"{' and '.join(codes)} differ in spelling alone: a question whether they are "
        "one; a log is taken for the one that it spells, and another spelling rejected"
        for codes in by_key.values()
        if len(codes) > 1
    ]
