"""Codes that are spelled in more than one way: one crew, however it is written."""

import json
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace

import duckdb

from etl.parse import distinct_codes
from etl.site_map import SiteMap
from etl.spelling import (
    JOINED_COLUMNS,
    code_key,
    meant_codes,
    plain_spelling,
    preferred,
)
from etl.staging import StagedFile

Spellings = dict[str, set[str]]


def join_spellings(
    con: duckdb.DuckDBPyConnection,
    staged: StagedFile,
    site_map: SiteMap,
    source_file_id: int,
) -> tuple[SiteMap, frozenset[str], list[str]]:
    """Return the site map with its codes spelled as they are stored, and remarks.

    Between them stand the names of the code columns that need no reading: each of
    their cells is what is stored. Notes this file's spellings, and renames what is held
    where a better spelling has come. Columns: JOINED_COLUMNS, and setting codes, which
    take the spelling of the setting data.
    """
    found, as_stored = _codes_in_file(con, staged, site_map)
    words: dict[str, dict[str, str]] = {}
    for name in JOINED_COLUMNS:
        if name in found:
            words[name] = _join_column(con, name, found[name], source_file_id)
    words["setting_code"] = _as_in_setting_data(con, found.get("setting_code", set()))
    codes = dict(site_map.codes)
    for name, joined in words.items():
        lower = {spelling.lower(): code for spelling, code in joined.items()}
        through = {
            word: joined.get(ours.upper(), ours)
            for word, ours in codes.get(name, {}).items()
        }
        if lower or through:
            codes[name] = lower | through
    as_stored -= {name for name, joined in words.items() if joined}
    return replace(site_map, codes=codes), as_stored, _remarks(words)


def site_spelling(
    con: duckdb.DuckDBPyConnection, site_code: str, source_file_id: int
) -> tuple[str, list[str]]:
    """Return the code that a site is stored by, and a remark where it is another."""
    joined = _join_column(con, "site_code", {site_code}, source_file_id)
    return joined.get(site_code, site_code), _remarks({"site_code": joined})


def join_values(
    con: duckdb.DuckDBPyConnection,
    name: str,
    spellings: set[str],
    source_file_id: int,
) -> tuple[dict[str, str], list[str]]:
    """Return the stored spelling of those codes that have another one, and remarks.

    For codes of sheets. `name` is the column; columns that are not joined give nothing.
    """
    if name not in (*JOINED_COLUMNS, "site_code"):
        return {}, []
    joined = _join_column(con, name, spellings, source_file_id)
    return joined, _remarks({name: joined})


def join_settings(
    con: duckdb.DuckDBPyConnection, spellings: set[str]
) -> tuple[dict[str, str], list[str]]:
    """Return the setting codes that the setting data spell in another way, and remarks.

    For sheets that name setting data, as `join_values`.
    """
    joined = _as_in_setting_data(con, spellings)
    return joined, _remarks({"setting_code": joined})


def forget_spellings(con: duckdb.DuckDBPyConnection, source_file_id: int) -> None:
    """Take a file's spellings out; what was stored by one of them is renamed."""
    gone = con.execute(
        "select distinct column_name, code_key from code_spelling "
        "where source_file_id = ?",
        [source_file_id],
    ).fetchall()
    before = {pair: _held_spellings(con, *pair) for pair in gone}
    con.execute("delete from code_spelling where source_file_id = ?", [source_file_id])
    for (name, key), spellings in before.items():
        left = _held_spellings(con, name, key)
        if left and preferred(left) != preferred(spellings):
            _rename(con, name, preferred(spellings), preferred(left))


def key_as_today(con: duckdb.DuckDBPyConnection) -> None:
    """Key the spellings anew that a firmset before took signs such as + out of.

    Where it joined two codes by that, their rows do not tell any more which one they
    had: these stay joined.
    """
    groups = con.execute(
        """
        select column_name, code_key, list(distinct spelling) from code_spelling
        group by column_name, code_key
        having bool_or(regexp_matches(spelling, '[^A-Za-z0-9 _./-]'))
        """
    ).fetchall()
    for name, key, spellings in groups:
        keys = set(map(code_key, spellings))
        if len(keys) == 1 and keys != {key}:
            con.execute(
                "update code_spelling set code_key = ? "
                "where column_name = ? and code_key = ?",
                [*keys, name, key],
            )


def _codes_in_file(
    con: duckdb.DuckDBPyConnection, staged: StagedFile, site_map: SiteMap
) -> tuple[Spellings, frozenset[str]]:
    """Return the codes in each code column, and the columns whose cells are just that.

    A cell is read once however often it stands there: few cells of a log differ.
    """
    codes = [found for found in site_map.columns if found.column.kind == "code"]
    rows = con.execute(*distinct_codes(staged, site_map, codes)).fetchall()
    spellings: Spellings = {found.column.name: set() for found in codes}
    as_stored = {found.column.name for found in codes if not found.fill_down}
    for name, cell, code in rows:
        if code is not None:
            spellings[name].add(code)
        if code != cell:
            as_stored.discard(name)
    return spellings, frozenset(as_stored)


def _join_column(
    con: duckdb.DuckDBPyConnection,
    name: str,
    spellings: set[str],
    source_file_id: int,
) -> dict[str, str]:
    """Note spellings; return, for those not stored as they are, the stored one.

    Noted is also how they are seen: a code is stored by nothing that is not noted.
    """
    noted = sorted(spellings | set(map(plain_spelling, spellings)))
    keys = {spelling: code_key(spelling) for spelling in noted}
    by_key: Spellings = defaultdict(set)
    for spelling in spellings:
        by_key[keys[spelling]].add(spelling)
    held = _held(con, name, list(by_key))
    if noted:
        con.execute(
            """
            insert into code_spelling
            select $name, unnest($keys), unnest($spellings), $source_file_id
            """,
            {
                "name": name,
                "keys": list(keys.values()),
                "spellings": noted,
                "source_file_id": source_file_id,
            },
        )
    joined: dict[str, str] = {}
    for key, found in by_key.items():
        known = held.get(key, set())
        stored = preferred(found | known)
        if known and preferred(known) != stored:
            _rename(con, name, preferred(known), stored)
        joined |= {spelling: stored for spelling in found if spelling != stored}
    return joined


def _held(con: duckdb.DuckDBPyConnection, name: str, keys: list[str]) -> Spellings:
    rows = con.execute(
        """
        select code_key, list(distinct spelling) from code_spelling
        where column_name = $name and code_key in (select unnest($keys))
        group by code_key
        """,
        {"name": name, "keys": keys},
    ).fetchall()
    return {key: set(spellings) for key, spellings in rows}


def _held_spellings(con: duckdb.DuckDBPyConnection, name: str, key: str) -> set[str]:
    return _held(con, name, [key]).get(key, set())


def _rename(con: duckdb.DuckDBPyConnection, name: str, old: str, new: str) -> None:
    """Store a code by another spelling, wherever it stands."""
    holders = con.execute(
        """
        select columns.table_name
        from duckdb_columns() as columns
        inner join duckdb_tables() as tables using (table_oid, database_name)
        where
            columns.column_name = ?
            and database_name = current_catalog()
            and not tables.temporary
        """,
        [name],
    ).fetchall()
    for (table,) in holders:
        con.execute(
            f"update {table} set {name} = $new where {name} = $old",
            {"new": new, "old": old},
        )
    # Rows of sheets that were replaced are kept as JSON, and come back from there.
    con.execute(
        """
        update replaced_sheet_row set
            row_key = replace(row_key, $old, $new),
            row_text = replace(row_text, $old, $new)
        where contains(row_text, $old)
        """,
        {
            "old": f'"{name}":{json.dumps(old, ensure_ascii=False)}',
            "new": f'"{name}":{json.dumps(new, ensure_ascii=False)}',
        },
    )


def _as_in_setting_data(
    con: duckdb.DuckDBPyConnection, spellings: set[str]
) -> dict[str, str]:
    """Return setting codes that the setting data have, but spell in another way."""
    published = {
        code
        for (code,) in con.execute("select setting_code from setting_data").fetchall()
    }
    unknown = spellings - published
    if not unknown:
        return {}
    by_key: Spellings = defaultdict(set)
    for code in published:
        by_key[code_key(code)].add(code)
    return meant_codes(unknown, by_key)


def _shown(spelling: str) -> str:
    """Return a spelling with what cannot be seen in it named by its code point."""
    return "".join(
        sign if sign.isprintable() else f"[U+{ord(sign):04X}]" for sign in spelling
    )


def _remarks(words: Mapping[str, Mapping[str, str]]) -> list[str]:
    remarks = []
    for name, joined in words.items():
        by_code: Spellings = defaultdict(set)
        for spelling, code in joined.items():
            by_code[code].add(spelling)
        remarks += [
            f"{name} {', '.join(map(_shown, sorted(spellings)))} read as {code}"
            for code, spellings in sorted(by_code.items())
        ]
    return remarks
