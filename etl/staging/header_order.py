"""Column names that come again below, but in another order than above.

As where two logs were copied into one: what stands under them must not be read under
the names of the first.
"""

import re
from collections.abc import Sequence
from typing import Final

import duckdb

from etl.site_map import SiteMap
from etl.staging.staged_file import StagedFile, trimmed, trimmed_sql
from queries.errors import FirmsetError
from queries.readers.corrections import RECEIPT_HEADER

# Of a row's filled cells as many are names of columns, and of the names half are there:
# words at the foot of a form are fewer. Common practice, no source.
FEWEST_NAMES: Final = 3
LEAST_NAMED_FRAC: Final = 0.8
LEAST_NAMES_FRAC: Final = 0.5
# What may be written otherwise below: a unit in brackets, a point or colon behind. For
# RE2 and Python's re alike.
_BEHIND: Final = r"(?:\s*[(\[][^)\]]*[)\]]|[.:\s])+$"


def require_one_order(
    con: duckdb.DuckDBPyConnection, staged: StagedFile, site_map: SiteMap
) -> None:
    """Raise FirmsetError where a row names the columns in another order.

    Also where a column more stands among them, so that others are not in their place.
    Of a row that comes back corrected, nobody reads on below.
    """
    if RECEIPT_HEADER in staged.headers:
        return
    for number, header in zip(site_map.header_rows, staged.header_cells, strict=False):
        # A number may be a column's name, and is mostly a value.
        names = {plain_name(cell) for cell in header if any(map(str.isalpha, cell))}
        if len(names) < FEWEST_NAMES:
            continue
        for row, *cells in _first_misplaced(con, staged, site_map, header, names):
            raise FirmsetError(
                f"{staged.path}: row {row}: names the columns in another order than "
                f"row {number} ({_misplaced(cells, header)}); expected one order: make "
                "a file of its own of the rows from there on"
            )


def _first_misplaced(
    con: duckdb.DuckDBPyConnection,
    staged: StagedFile,
    site_map: SiteMap,
    header: tuple[str, ...],
    names: set[str],
) -> list[tuple[int, *tuple[str | None, ...]]]:
    """Return the number and the cells of the first such row, if there is one."""
    cells = [f"c{i + 1}" for i in range(len(header))]
    folded = ", ".join(
        f"regexp_replace(lower({trimmed_sql(cell)}), '{_BEHIND}', '')" for cell in cells
    )
    return con.execute(
        f"""
        select row_number, {", ".join(cells)}
        from (
            select
                rowid as place, {staged.row_sql} as row_number, {", ".join(cells)},
                [{folded}] as folded,
                list_filter(folded, lambda cell: cell != '') as filled,
                list_filter(folded, lambda cell: list_contains($names, cell)) as named
            from staged_row
            where {has_no_date_sql(staged, site_map) or "true"}
        )
        where
            len(named) >= $least_named_frac * len(filled)
            and len(list_distinct(named)) >= $fewest
            and len(
                list_filter(
                    list_zip(folded, $header),
                    lambda pair: list_contains($names, pair[1]) and pair[1] != pair[2]
                )
            ) > 0
        order by place
        limit 1
        """,
        {
            "names": sorted(names),
            "header": [plain_name(cell) for cell in header],
            "least_named_frac": LEAST_NAMED_FRAC,
            "fewest": max(FEWEST_NAMES, LEAST_NAMES_FRAC * len(names)),
        },
    ).fetchall()


def has_no_date_sql(staged: StagedFile, site_map: SiteMap) -> str | None:
    """Return the condition that the cell of a row's date begins with no digit.

    None where the rows have no such cell. So that of a large log no more than this is
    looked at: the words of a title, or of a name, begin with a letter.
    """
    own = [
        staged.cell_sql(header)
        for found in site_map.columns
        if found.column.name in ("installed_on", "installed_at")
        for header in found.own_headers[:1]
        if header in staged.headers
    ]
    tests = (f"({cell} is null or {cell} < '0' or {cell} >= ':')" for cell in own)
    return " and ".join(tests) or None


def plain_name(name: str) -> str:
    """Return what is compared of a column's name: "Depth (mm)" and "DEPTH:" are one."""
    return re.sub(_BEHIND, "", name.lower())


def _misplaced(cells: Sequence[str | None], header: Sequence[str]) -> str:
    known = {plain_name(name) for name in header if name}
    return next(
        f"{cell!r} where that has {name or 'nothing'!r}"
        for cell, name in zip(map(trimmed, cells), header, strict=True)
        if plain_name(cell) in known and plain_name(cell) != plain_name(name)
    )
