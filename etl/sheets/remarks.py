"""What is said of the rows of a sheet that were taken."""

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence

import duckdb

from etl.sheets.declaration import Sheet
from etl.sheets.read import SheetRow

ROWS_NAMED = 5

# A row and the words on it.
_Said = tuple[SheetRow, str]


def remarks_of(
    con: duckdb.DuckDBPyConnection, sheet: Sheet, rows: Sequence[SheetRow]
) -> Iterator[str]:
    """Yield each remark once with its rows. `con` is the ledger, before they count."""
    numbers = defaultdict(list)
    for said in (
        _of_their_values(sheet, rows),
        _unknown(con, sheet, rows),
        _unnamed(con, sheet, rows),
        _several_sites(con, sheet, rows),
    ):
        for row, words in said:
            numbers[words].append(row.number)
    for words, found in numbers.items():
        named = ", ".join(map(str, found[:ROWS_NAMED]))
        more = f" and {len(found) - ROWS_NAMED} more" * (len(found) > ROWS_NAMED)
        yield f"row{'s' * (len(found) > 1)} {named}{more}: {words}"


def _of_their_values(sheet: Sheet, rows: Iterable[SheetRow]) -> Iterator[_Said]:
    for row in rows:
        if sheet.remark and (words := sheet.remark(row.values)):
            yield row, words


def _unknown(
    con: duckdb.DuckDBPyConnection, sheet: Sheet, rows: Iterable[SheetRow]
) -> Iterator[_Said]:
    for column, table in sheet.known_in.items():
        known = _codes(con, column, [table])
        for row in rows:
            code = row.values[column]
            if code is not None and code not in known:
                yield row, f"{column} = {code!r} is not loaded yet, kept as it stands"


def _unnamed(
    con: duckdb.DuckDBPyConnection, sheet: Sheet, rows: Iterable[SheetRow]
) -> Iterator[_Said]:
    """Ask about codes that nothing else names; not where there is nothing else yet."""
    for column, tables in sheet.named_in.items():
        known = _codes(con, column, tables)
        for row in rows if known else ():
            code = row.values[column]
            if code not in known:
                where = "in no log or other sheet yet"
                yield row, f"{column} = {code!r} is {where}, kept as it stands"


def _several_sites(
    con: duckdb.DuckDBPyConnection, sheet: Sheet, rows: Iterable[SheetRow]
) -> Iterator[_Said]:
    """Ask about what looks like the codes of several sites: a cell holds one."""
    if not any(column.name == "site_code" for column in sheet.columns):
        return
    known = _codes(con, "site_code", ["site"])
    for row in rows:
        code = row.values["site_code"]
        if code not in known and re.search("[,;]", str(code)):
            said = f"site_code = {code!r} is kept as the code of one site: a question"
            yield row, f"{said} whether it names several, for which it is left blank"


def _codes(
    con: duckdb.DuckDBPyConnection, column: str, tables: Iterable[str]
) -> set[object]:
    every = " union ".join(f"select {column} from {table}" for table in tables)
    return {code for (code,) in con.execute(every).fetchall()} - {None}
